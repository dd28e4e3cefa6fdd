"""What real switches printed (data files of the ntc-templates project, Apache-2.0) against the rows that lie beside it.

The rows beside a recording were written by people of that project. Here a small mapping of its own, for each command,
says what those rows mean in a snapshot; the readers must come to the same.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import pytest
import yaml

from collectors import platforms
from collectors.platforms.contract import Ask, Platform, Rows
from collectors.snapshot import Neighbour

CLI = Path(__file__).parents[3] / "shared" / "recordings" / "cli"

Row = dict[str, Any]

pytestmark = pytest.mark.skipif(not CLI.is_dir(), reason="the recordings are not on this machine: ../shared/recordings")


def reader(platform: Platform, command: str) -> Callable[[str], Rows]:
    for ask in platform.asks:
        at: Ask | None = ask
        while at is not None:
            if at.command == command:
                return at.read
            if at.then and at.then.command == command:
                return at.then.read
            at = at.instead
    raise AssertionError(f"{platform.name} never sends {command!r}")


def colons(said: str) -> str | None:
    """A MAC address in one spelling, else None; small and separate from the product's own."""
    digits = re.sub(r"[.:\- ]", "", said.lower())
    return re.sub(r"(..)(?!$)", r"\1:", digits) if re.fullmatch(r"[0-9a-f]{12}", digits) else None


def identity(said: str) -> str:
    return colons(said) or said


def megabits(said: str) -> int | None:
    found = re.search(r"(\d+)\s*([GM]?)", said)
    return None if not found or int(found[1]) == 0 else int(found[1]) * (1000 if found[2] == "G" else 1)


def vlan(said: str) -> int | None:
    return int(said) if said.isdigit() else None


class Seen(NamedTuple):
    mac: str
    vlan: Any
    port: str | None
    status: str


# What each MAC table means: one function per command, from its row to sightings.


def sighting(mac: str, at: Any, port: str, kind: str) -> list[Seen]:
    """Rules of IEEE 802.1Q (group addresses are no stations) and of RFC 4188 for the status, applied by hand."""
    address = colons(mac)
    if address is None or int(address[:2], 16) & 1 or address == "00:00:00:00:00:00":
        return []
    if re.match(r"CPU$|Router$|Switch$|Vl\d+$|sup-eth1|0$", port):
        return [Seen(address, at, None, "self")]
    if port in ("-", "Drop"):
        return [Seen(address, at, None, "other")]
    fixed = kind.lower() in ("static", "s")
    return [Seen(address, at, port, "mgmt" if fixed else "learned")]


def junos_sighting(row: Row) -> list[Seen]:
    name = f"Vlan{row['vlan_id']}" if row["vlan_id"] else f"BD-{row['bridge_domain_id']}"
    return sighting(row["mac_address"], name, row["logical_interface"].removesuffix(".0"), row["mac_flag"])


FORWARDING: dict[str, Callable[[Row], list[Seen]]] = {
    "arista_eos": lambda row: [
        one
        for port in row["destination_port"]
        for one in sighting(row["mac_address"], vlan(row["vlan_id"]), port, row["type"])
    ],
    "aruba_aoscx": lambda row: sighting(row["mac_address"], vlan(row["vlan_id"]), row["port"], row["type"]),
    "brocade_fastiron": lambda row: sighting(
        row["mac_address"], vlan(row["vlan_id"]), row["destination_port"], row["type"]
    ),
    "cisco_ios": lambda row: [
        one
        for port in row["destination_port"] or ["-"]
        for one in sighting(row["destination_address"], vlan(row["vlan_id"]), port, row["type"])
    ],
    "cisco_nxos": lambda row: sighting(row["mac_address"], vlan(row["vlan_id"]), row["ports"], row["type"]),
    "cisco_s300": lambda row: sighting(
        row["destination_address"], vlan(row["vlan_id"]), row["destination_port"], row["type"]
    ),
    "hp_comware": lambda row: sighting(row["mac_address"], vlan(row["vlan_id"]), row["interface"], row["state"]),
    "hp_procurve": lambda row: sighting(row["mac_address"], vlan(row["vlan_id"]), row["port"], "dynamic"),
    "huawei_vrp": lambda row: sighting(
        row["destination_address"], vlan(row["vlan_id"]), row["destination_port"], row["type"]
    ),
    "juniper_junos": junos_sighting,
}
# Two sections follow one another in this one, and the second holds multicast groups (one row of it is no address).
WITHOUT_MULTICAST = {"arista_eos_show_mac_address-table": 19}


class Near(NamedTuple):
    port: str | None
    chassis: str
    port_id: str
    name: str
    capabilities: list[str] | None
    address: str | list[str]


_LETTERS = {"B": "bridge", "R": "router", "T": "telephone", "W": "wlanAccessPoint", "S": "stationOnly"}
_WORDS = {"bridge": "bridge", "router": "router", "wlan": "wlanAccessPoint", "wlanaccesspoint": "wlanAccessPoint"}
_WORDS |= {"wlan-access-point": "wlanAccessPoint", "telephone": "telephone", "stationonly": "stationOnly"}


def capabilities(said: str) -> list[str]:
    parts = [part.strip() for part in re.split(r"[, ]+", said) if part.strip()]
    if re.fullmatch(r"[BRTWS]{2,}", said):
        parts = list(said)
    named = [_LETTERS.get(part) or _WORDS.get(part.lower()) for part in parts]
    return [name for name in named if name]


def neighbour(row: Row, *, port_id: str = "neighbor_port_id", told: str = "capabilities", shown: bool = True) -> Near:
    row = {column: "".join(cell) if isinstance(cell, list) else cell for column, cell in row.items()}
    said = row.get(told)
    return Near(
        port=row["local_interface"] or None,
        chassis=identity(row.get("chassis_id", "")),
        port_id=identity(row.get(port_id, "")),
        name=row["neighbor_name"],
        capabilities=capabilities(said) if shown and said is not None else None,
        address=row.get("mgmt_address", ""),
    )


def ids(row: Row) -> Near:
    """Rows whose `neighbor_interface` is the port's id, as in short lists."""
    near = neighbour(row, port_id="neighbor_interface")
    return near._replace(capabilities=near.capabilities or None)


NEIGHBOURS: dict[tuple[str, str], Callable[[Row], Near]] = {
    ("arista_eos", "show lldp neighbors"): ids,
    # The rows beside this one leave capabilities out; what they are is checked below.
    ("arista_eos", "show lldp neighbors detail"): ids,
    ("aruba_aoscx", "show lldp neighbor-info detail"): neighbour,
    ("brocade_fastiron", "show lldp neighbors"): ids,
    ("brocade_fastiron", "show lldp neighbors detail"): neighbour,
    ("cisco_ios", "show lldp neighbors"): ids,
    ("cisco_ios", "show lldp neighbors detail"): neighbour,
    ("cisco_nxos", "show lldp neighbors"): ids,
    ("cisco_nxos", "show lldp neighbors detail"): lambda row: ids(row)._replace(port=row["local_interface"]),
    ("cisco_s300", "show lldp neighbors"): ids,
    ("hp_comware", "display lldp neighbor-information list"): ids,
    ("hp_comware", "display lldp neighbor-information verbose"): ids,
    ("hp_procurve", "show lldp info remote-device"): ids,
    ("hp_procurve", "show lldp info remote-device detail"): lambda row: neighbour(row, port_id="neighbor_interface"),
    ("huawei_vrp", "display lldp neighbor"): neighbour,
    ("juniper_junos", "show lldp neighbors"): ids,
}
# Facts that the rows beside a recording do not give, so only the others are compared.
NOT_GIVEN: dict[tuple[str, str], set[str]] = {
    ("arista_eos", "show lldp neighbors detail"): {"capabilities"},
    ("brocade_fastiron", "show lldp neighbors detail"): {"chassis"},
    ("cisco_s300", "show lldp neighbors"): {"name", "capabilities"},
    ("hp_comware", "display lldp neighbor-information verbose"): {"capabilities"},
    ("hp_comware", "display lldp neighbor-information list"): {"name"},
    ("hp_procurve", "show lldp info remote-device"): {"name"},
}


class Interface(NamedTuple):
    name: str
    admin: str | None
    oper: str | None
    speed: int | None
    duplex: str | None
    pvid: int | None


def _cisco_status(row: Row) -> Interface:
    state = row["status"].split(":")[0]
    admin = {"disabled": "down", "connected": "up", "notconnect": "up", "err-disabled": "up", "errdisabled": "up"}
    oper = {"disabled": "down", "connected": "up", "notconnect": "down", "err-disabled": "down", "errdisabled": "down"}
    up = oper.get(state) == "up"
    speed = row["speed"].removeprefix("a-")
    return Interface(
        row["port"],
        admin.get(state),
        oper.get(state),
        megabits(speed) if up else None,
        row["duplex"].removeprefix("a-") if up and "auto" not in row["duplex"] else None,
        vlan(row["vlan_id"]),
    )


def _mode(said: str, up: bool) -> tuple[int | None, str | None]:
    found = re.match(r"(\d+)(Gig)?(F|H)D", said)
    if not found or not up:
        return None, None
    return int(found[1]) * (1000 if found[2] else 1), {"F": "full", "H": "half"}[found[3]]


def _procurve(row: Row) -> Interface:
    up = row["status"] == "Up"
    speed, duplex = _mode(row["mode"], up)
    admin = {"Yes": "up", "No": "down"}[row["enabled"]]
    return Interface(re.split(r"-|\*", row["port"])[0], admin, row["status"].lower(), speed, duplex, None)


def _procurve_status(row: Row) -> Interface:
    up = row["status"] == "Up"
    speed, duplex = _mode(row["speed"], up)
    return Interface(row["port"].split("-")[0], None, row["status"].lower(), speed, duplex, vlan(row["vlan_untagged"]))


def _comware(row: Row) -> Interface:
    shut = row["link"] == "ADM"
    oper = "down" if shut else row["link"].lower()
    duplex = {"F": "full", "H": "half"}.get(row["duplex"][:1]) if oper == "up" else None
    speed = megabits(row["speed"]) if oper == "up" else None
    return Interface(row["interface"], "down" if shut else "up", oper, speed, duplex, vlan(row["vlan_id"]))


def _huawei(row: Row) -> Interface:
    shut = row["phy"].startswith("*")
    name = re.sub(r"\(.*", "", row["interface"])
    return Interface(name, "down" if shut else "up", row["phy"].strip("*"), None, None, None)


def _fastiron(row: Row) -> Interface:
    up = row["linkstate"] == "Up"
    admin = "down" if row["linkstate"] == "Disable" else "up"
    duplex = row["duplex"].lower() if up else None
    speed = megabits(row["speed"]) if up else None
    return Interface(row["interface"], admin, "up" if up else "down", speed, duplex, vlan(row["pvid"]))


def _s300(row: Row) -> Interface:
    duplex = {"Full": "full", "Half": "half"}.get(row["duplex"])
    return Interface(row["port"], None, row["linkstate"].lower(), megabits(row["speed"]), duplex, None)


def _aoscx(row: Row) -> Interface:
    up = row["link_status"] == "up"
    speed = megabits(row["speed"]) if up else None
    duplex = row["duplex"].lower() or None if up else None
    pvid = vlan(row["vlan_access"]) or vlan(row["vlan_native"])
    return Interface(row["interface"], row["link_admin"], row["link_status"], speed, duplex, pvid)


def _nxos(row: Row) -> Interface:
    oper = "up" if row["link_status"].startswith("up") else "down"
    shut = "dministratively" in row["link_status"]
    admin = "down" if shut else row["admin_state"].rstrip(",") or ("up" if oper == "up" else None)
    speed = megabits(row["speed"])
    duplex = row["duplex"].partition("-")[0] if row["duplex"] != "auto" and oper == "up" else None
    return Interface(row["interface"], admin, oper, speed if oper == "up" else None, duplex, None)


def _nxos_brief(row: Row) -> Interface:
    pvid = vlan(row["vlan_id"]) if row["mode"] in ("access", "trunk") else None
    return Interface(row["interface"], None, None, None, None, pvid)


INTERFACES: dict[tuple[str, str], Callable[[Row], Interface]] = {
    ("arista_eos", "show interfaces status"): _cisco_status,
    ("aruba_aoscx", "show interface"): _aoscx,
    ("brocade_fastiron", "show interfaces brief"): _fastiron,
    ("cisco_ios", "show interfaces status"): _cisco_status,
    ("cisco_nxos", "show interface"): _nxos,
    ("cisco_nxos", "show interface brief"): _nxos_brief,
    ("cisco_s300", "show interfaces status"): _s300,
    ("hp_comware", "display interface brief"): _comware,
    ("hp_procurve", "show interfaces brief"): _procurve,
    ("hp_procurve", "show interfaces status"): _procurve_status,
    ("huawei_vrp", "display interface brief"): _huawei,
}
OTHERS = {("hp_procurve", "show lldp info local-device")}

# Commands whose folder is named after an alias of what we send.
SENT = {("aruba_aoscx", "show lldp neighbors-info detail"): "show lldp neighbor-info detail"}


def command_of(folder: Path) -> tuple[str, str]:
    platform = folder.parent.name
    command = folder.name.replace("_", " ")
    return platform, SENT.get((platform, command), command)


FILES = sorted(CLI.glob("*/*/*.raw")) if CLI.is_dir() else []


def read(raw: Path) -> tuple[tuple[str, str], Rows, list[Row]]:
    platform, command = command_of(raw.parent)
    found = platforms.platform(platform)
    assert found is not None
    rows = reader(found, command)(raw.read_text("utf-8"))
    given: list[Row] = yaml.safe_load(raw.with_suffix(".yml").read_text("utf-8"))["parsed_sample"]
    return (platform, command), rows, given


def files(*kinds: str) -> list[Any]:
    return [pytest.param(raw, id=raw.stem) for raw in FILES if any(kind in raw.parent.name for kind in kinds)]


def near(one: Neighbour) -> Near:
    return Near(
        one.port,
        one.chassis_id,
        one.port_id,
        one.system_name,
        one.capabilities,
        one.management_addresses,
    )


def test_every_recording_of_our_platforms_is_read_by_a_command_that_we_send() -> None:
    assert len(FILES) >= 60
    known = {*INTERFACES, *NEIGHBOURS, *OTHERS}
    for raw in FILES:
        platform, command = command_of(raw.parent)
        found = platforms.platform(platform)
        assert found is not None
        reader(found, command)
        assert (platform, command) in known or ("mac" in command or "switching" in command)


@pytest.mark.parametrize("raw", files("mac", "switching"))
def test_a_recorded_mac_table_gives_the_sightings_of_its_rows(raw: Path) -> None:
    (platform, _), rows, given = read(raw)
    given = given[: WITHOUT_MULTICAST.get(raw.stem, len(given))]
    expected = [one for row in given for one in FORWARDING[platform](row)]
    assert [(one.mac, one.vlan, one.port, one.status) for one in rows.seen] == [tuple(one) for one in expected]


def agrees(fact: str, ours: Any, given: Any) -> bool:
    if fact in ("name", "port_id"):
        return bool(ours == given.strip().removesuffix("..."))
    if fact == "capabilities":
        # An empty cell stands for "told as none" and for "not told".
        return (ours or None) == (given or None)
    if fact == "address":
        # One of the addresses is given; what is no address (a placeholder of the donor) is not one for us either.
        given = colons(given) if re.fullmatch(r"[0-9a-f]{4}\.[0-9a-f]{4}\.[0-9a-f]{4}", given) else given
        return given in ours or not re.fullmatch(r"[\d.]+|[0-9a-f:]+", given)
    return bool(ours == given)


@pytest.mark.parametrize("raw", files("lldp_neighbor", "remote-device"))
def test_a_recorded_list_of_neighbours_gives_the_neighbours_of_its_rows(raw: Path) -> None:
    which, rows, given = read(raw)
    expected = [NEIGHBOURS[which](row) for row in given]
    assert len(rows.neighbours) == len(expected)
    for one, told in zip(map(near, rows.neighbours), expected, strict=True):
        for fact in Near._fields:
            if fact in NOT_GIVEN.get(which, set()):
                continue
            assert agrees(fact, getattr(one, fact), getattr(told, fact)), (fact, one, told)


@pytest.mark.parametrize("raw", files("interface"))
def test_a_recorded_interface_table_gives_the_ports_of_its_rows(raw: Path) -> None:
    which, rows, given = read(raw)
    told = [Interface(one.name, one.admin, one.oper, one.speed_mbps, one.duplex, one.pvid) for one in rows.ports]
    assert told == [INTERFACES[which](row) for row in given]


@pytest.mark.parametrize("raw", files("local-device"))
def test_a_recorded_local_device_gives_the_chassis_and_its_name(raw: Path) -> None:
    _, rows, given = read(raw)
    assert (rows.chassis_id, rows.lldp_name) == (colons(given[0]["chassis_id"]), given[0]["system_name"])


class TestWhatTheRowsBesideDoNotTell:
    """Read off the recordings by eye."""

    def test_arista_tells_capabilities(self) -> None:
        raw = CLI / "arista_eos/show_lldp_neighbors_detail/arista_eos_show_lldp_neighbors_detail.raw"
        assert {tuple(one.capabilities or []) for one in read(raw)[1].neighbours} >= {("bridge", "router")}

    def test_fastiron_tells_the_chassis(self) -> None:
        raw = CLI / "brocade_fastiron/show_lldp_neighbors_detail/brocade_fastiron_show_lldp_neighbors_detail.raw"
        chassis = [(one.chassis_id, one.chassis_id_kind) for one in read(raw)[1].neighbours]
        assert chassis[0] == ("00:24:38:a5:5f:00", "macAddress")

    def test_comware_tells_capabilities_and_whole_names(self) -> None:
        folder = CLI / "hp_comware/display_lldp_neighbor-information_verbose"
        first = read(folder / "hp_comware_display_lldp_neighbor-information_verbose.raw")[1].neighbours[0]
        assert first.capabilities == ["bridge", "router"]
        assert first.system_description.endswith("Tech\n. Co., Ltd. All rights reserved.")

    def test_a_small_business_switch_tells_names_and_capabilities(self) -> None:
        raw = CLI / "cisco_s300/show_lldp_neighbors/cisco_s300_show_lldp_neighbors.raw"
        told = [(one.system_name, one.capabilities) for one in read(raw)[1].neighbours]
        assert told == [("prsw03freeporil", ["bridge"]), ("prsw01freeportin", ["bridge"])]

    def test_huawei_members_stand_under_their_trunk(self) -> None:
        raw = CLI / "huawei_vrp/display_interface_brief/huawei_vrp_display_interface_brief.raw"
        bundles = {port.name: port.aggregate for port in read(raw)[1].ports}
        assert bundles["GigabitEthernet8/1/16"] == "Eth-Trunk2"
        assert bundles["GigabitEthernet4/0/4"] == "Eth-Trunk5"
        assert bundles["Eth-Trunk5.100"] is None

    def test_a_member_in_an_arista_bundle_is_one(self) -> None:
        raw = CLI / "arista_eos/show_interfaces_status/arista_eos_show_interfaces_status_flags.raw"
        assert {port.name: port.aggregate for port in read(raw)[1].ports}["Et52"] == "Po49"

    def test_a_nexus_member_is_in_its_port_channel(self) -> None:
        raw = CLI / "cisco_nxos/show_interface_brief/cisco_nxos_show_interface_brief_01.raw"
        assert {port.name: port.aggregate for port in read(raw)[1].ports}["Eth1/49"] == "port-channel1"
