"""Real recordings (package snmpsim-data, BSD) are served by the simulator, recorded by us, and searched for leaks."""

from __future__ import annotations

import asyncio
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
import snmpsim_data

from collectors import snmprec
from collectors.access import SnmpAccess, SwitchAccess
from collectors.errors import NoAnswer, RecordingError
from collectors.names import AddressKind, address_kind
from collectors.scrub import Scrubber
from collectors.scrub_snmp import Rewriter, Variable
from collectors.simulator import SimulatedUser, Simulator
from collectors.tables.mib import OBJECTS
from collectors.transports.recording import Recording, record

DATA = Path(snmpsim_data.__file__).parent / "data" / "network" / "switch"
# A box with LLDP, CDP, ARP and a serial number; one with two forwarding tables whose FDB ids are no VLANs.
SWITCHES = {name: DATA / f"{name}.snmprec.bz2" for name in ("cisco-n5000-uk9", "hpe-procurve-516733-b21")}
COLUMNS = {oid: name for name, oid in OBJECTS.items()}


def access(endpoint: tuple[str, int], **snmp: object) -> SwitchAccess:
    host, port = endpoint
    how = {"community": "env:TONEOUT_TEST_COMMUNITY", "port": port, "timeout": 2.0, **snmp}
    return SwitchAccess(name="kelp-switch", address=host, snmp=SnmpAccess.model_validate(how))


def recorded(endpoint: tuple[str, int], out: Path, scrubber: Scrubber | None = None, **snmp: object) -> Recording:
    return asyncio.run(record(access(endpoint, **snmp), out, secrets_from=out, scrubber=scrubber))


@pytest.fixture(autouse=True)
def community(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TONEOUT_TEST_COMMUNITY", "public")


def object_of(row: snmprec.Row) -> str:
    return next((COLUMNS[row.oid[:length]] for length in range(len(row.oid), 7, -1) if row.oid[:length] in COLUMNS), "")


def octets(row: snmprec.Row) -> bytes:
    return bytes.fromhex(row.value.decode()) if row.tag.endswith("x") else row.value


def secrets_of(rows: list[snmprec.Row]) -> Iterator[bytes]:
    """What must not be in the recording, found in the raw rows by other means than those of the scrubber."""
    for row in rows:
        name = object_of(row)
        if re.search(r"(?i)sysName|SerialNum|DeviceId$|SysName$", name) and len(octets(row).strip(b"\0 ")) > 2:
            yield octets(row).strip(b"\0 ")
        if re.match(r"dot1[dq]TpFdb", name):
            yield bytes(row.oid[-6:])
        if name in ("ifPhysAddress", "lldpRemChassisId", "ipNetToMediaPhysAddress") and len(octets(row)) == 6:
            yield octets(row)
        if name == "ipNetToMediaPhysAddress":
            yield ".".join(map(str, row.oid[-4:])).encode()


def spellings(secret: bytes) -> Iterator[bytes]:
    yield secret
    yield secret.hex().encode()
    if len(secret) == 6:
        yield secret.hex(":").encode()
        yield ".".join(map(str, secret)).encode()


@pytest.mark.parametrize("switch", [pytest.param("cisco-n5000-uk9", marks=pytest.mark.long), "hpe-procurve-516733-b21"])
def test_a_recording_has_every_row_and_no_address_name_or_serial_number(switch: str, tmp_path: Path) -> None:
    subtrees = [".".join(map(str, oid)) for oid in OBJECTS.values()]
    original = list(snmprec.unique(snmprec.read_rows(SWITCHES[switch]), list(OBJECTS.values())).values())
    with Simulator({switch: SWITCHES[switch]}, subtrees=subtrees) as simulator:
        recording = recorded(simulator.endpoints[switch], tmp_path, retries=0)
    assert [text for text in recording.missing if "VLAN context 1:" not in text] == []
    assert [file.name for file in recording.files] == ["switch-1.snmprec"]
    copy = list(snmprec.read_rows(recording.files[0]))
    assert Counter(map(object_of, copy)) == Counter(map(object_of, original))

    content = recording.files[0].read_bytes().lower()
    universal = {secret for secret in secrets_of(original) if not nobody_s(secret)}
    assert len(universal) > 100
    leaks = {secret for secret in universal if any(part in content for part in map(bytes.lower, spellings(secret)))}
    assert leaks == set()


def nobody_s(secret: bytes) -> bool:
    if len(secret) != 6:
        return False
    return address_kind(secret.hex(":")) in (AddressKind.VIRTUAL_GATEWAY, AddressKind.GROUP, AddressKind.NONE)


def test_tables_of_a_recording_still_join(tmp_path: Path) -> None:
    """A station of both forwarding tables is still one station, and ports keep their names and numbers."""
    switch = "hpe-procurve-516733-b21"
    fdb = ("dot1dTpFdbPort", "dot1qTpFdbPort")

    def both_tables(rows: list[snmprec.Row]) -> set[tuple[int, ...]]:
        first, second = ({row.oid[-6:] for row in rows if object_of(row) == name} for name in fdb)
        return first & second

    def port_names(rows: list[snmprec.Row]) -> list[tuple[snmprec.Arcs, bytes]]:
        """Of sockets, which this switch numbers; a VLAN's interface has the name that people gave to the VLAN."""
        of_ports = (row for row in rows if object_of(row) in ("ifName", "dot1dBasePortIfIndex", "dot1qPvid"))
        return [(row.oid, octets(row)) for row in of_ports if octets(row).isdigit()]

    wanted = [OBJECTS[name] for name in (*fdb, "sysDescr", "ifName", "dot1dBasePortIfIndex", "dot1qPvid")]
    original = list(snmprec.unique(snmprec.read_rows(SWITCHES[switch]), wanted).values())
    with Simulator(SWITCHES, subtrees=[".".join(map(str, oid)) for oid in wanted]) as simulator:
        recording = recorded(simulator.endpoints[switch], tmp_path)
    copy = list(snmprec.read_rows(recording.files[0]))
    assert len(both_tables(copy)) == len(both_tables(original)) > 200
    assert port_names(copy) == port_names(sorted(original)) != []


def test_a_recording_can_be_served_and_recorded_again_by_every_version(tmp_path: Path) -> None:
    path = tmp_path / "kelp.snmprec"
    path.write_text("1.3.6.1.2.1.1.1.0|4|Linux kelp-switch 6.1\n1.3.6.1.2.1.1.5.0|4|kelp-switch\n")
    (tmp_path / "kelp@20.snmprec").write_text("1.3.6.1.2.1.17.4.3.1.2.0.27.33.60.77.94|2|7\n")
    with path.open("a") as more:
        more.write("1.3.6.1.4.1.9.9.46.1.3.1.1.2.1.20|2|1\n")
    user = SimulatedUser("keeper", "sha256", "tide-table-7", "aes", "kelp-forest-9")
    v3: dict[str, object] = {"version": "3", "user": "keeper", "auth": "sha256", "privacy": "aes", "community": None}
    v3 |= {"auth_secret": "file:auth", "privacy_secret": "file:privacy"}
    for name, secret in (("auth", "tide-table-7"), ("privacy", "kelp-forest-9")):
        (tmp_path / name).write_text(secret)
        (tmp_path / name).chmod(0o600)
    with Simulator({"kelp": path}, user=user) as simulator:
        versions: tuple[dict[str, object], ...] = ({"version": "1"}, {"version": "2c"}, v3)
        for number, how in enumerate(versions):
            endpoint, out = simulator.endpoints["kelp"], tmp_path / str(number)
            files = asyncio.run(record(access(endpoint, **how), out, secrets_from=tmp_path)).files
            assert [file.name for file in files] == ["switch-1.snmprec", "switch-1@20.snmprec"]
            assert b"|4|Linux switch-1 6.1\n" in files[0].read_bytes()
            assert files[1].read_bytes().startswith(b"1.3.6.1.2.1.17.4.3.1.2.0.27.33.")
    with Simulator({"again": files[0]}) as simulator:
        again = recorded(simulator.endpoints["again"], tmp_path / "again")
    assert again.rows == 4


def test_one_scrubber_keeps_two_switches_consistent(tmp_path: Path) -> None:
    """A neighbour is called in one recording what its own recording is called."""
    (tmp_path / "a.snmprec").write_text(
        "1.3.6.1.2.1.1.5.0|4|kelp-switch\n1.0.8802.1.1.2.1.4.1.1.9.0.1.1|4|pier-switch.station.example\n"
    )
    (tmp_path / "b.snmprec").write_text("1.3.6.1.2.1.1.5.0|4|pier-switch\n")
    scrubber = Scrubber()
    with Simulator({name: tmp_path / f"{name}.snmprec" for name in "ab"}) as simulator:
        first = recorded(simulator.endpoints["a"], tmp_path / "out", scrubber)
        other = access(simulator.endpoints["b"]).model_copy(update={"name": "pier-switch"})
        second = asyncio.run(record(other, tmp_path / "out", secrets_from=tmp_path, scrubber=scrubber))
    name = second.files[0].stem
    assert f"|4|{name}\n".encode() in first.files[0].read_bytes()


def test_a_text_of_an_object_that_nobody_classified_is_replaced_whole() -> None:
    told = list(Rewriter(Scrubber(), [Variable("notListedAnywhere", (1,), 4, b"behind the boat shed")]).variables())
    assert told[0].content == b"text-1"


def test_a_row_whose_index_holds_no_address_where_one_belongs_is_left_out() -> None:
    rows = [
        Variable("dot1dTpFdbPort", (0, 27, 33, 60, 77, 94), 2, b"\x07"),
        Variable("dot1dTpFdbPort", (0, 27, 33), 2, b"\x07"),
        Variable("dot1dTpFdbPort", (0, 27, 33, 60, 77, 1000), 2, b"\x07"),
        Variable("ipNetToPhysicalType", (4, 1, 172, 16, 220, 1), 2, b"\x03"),  # without the length, as one agent does
        Variable("ipNetToPhysicalType", (4, 1, 4, 172, 16, 220, 2), 2, b"\x03"),
        Variable("ipNetToPhysicalType", (4, 1), 2, b"\x03"),
    ]
    rewriter = Rewriter(Scrubber(), rows)
    kept = [variable.instance for variable in rewriter.variables()]
    assert kept[0][:3] == (0, 27, 33)
    assert kept[1:] == [(4, 1, 198, 18, 0, 1), (4, 1, 4, 198, 18, 0, 2)]
    assert rewriter.left_out == 3


def test_a_switch_that_does_not_answer_is_an_error_and_leaves_no_file(tmp_path: Path) -> None:
    (tmp_path / "kelp.snmprec").write_text("1.3.6.1.2.1.1.5.0|4|kelp-switch\n")
    with Simulator({"kelp": tmp_path / "kelp.snmprec"}, community="other") as simulator, pytest.raises(NoAnswer):
        recorded(simulator.endpoints["kelp"], tmp_path / "out", timeout=0.1, retries=0)
    assert not (tmp_path / "out").exists()


def test_a_folder_that_cannot_be_made_is_an_error_with_its_name(tmp_path: Path) -> None:
    (tmp_path / "kelp.snmprec").write_text("1.3.6.1.2.1.1.5.0|4|kelp-switch\n")
    (tmp_path / "out").write_text("a file where a folder should be")
    with Simulator({"kelp": tmp_path / "kelp.snmprec"}) as simulator, pytest.raises(RecordingError, match="out"):
        recorded(simulator.endpoints["kelp"], tmp_path / "out" / "deeper")
