"""What the core is told of maps and networks: who lives where, who was heard where, what says nothing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import pytest

from collectors.snapshot import CollectedSwitch, Neighbour, Table, TableReport, TableState
from reconcile.causes.plan import Link
from reconcile.causes.reading import Reading, read
from reconcile.channels import resolve
from reconcile.frames import observe
from reconcile.locate.placement import Grade, Located, Placement, PortRef, Uplink
from reconcile.patchmap.model import PatchMap
from tests.reconcile.handmade_network import answer, device, port, site, snapshot

TANK, CAMERA, PHONE, PC = (f"00:1b:1c:00:00:{n:02x}" for n in (1, 2, 3, 4))


def reading(
    patch_map: PatchMap,
    *switches: CollectedSwitch,
    at: Mapping[str, str] | None = None,
    uplinks: Iterable[Uplink] = (),
    failed: Iterable[str] = (),
    grade: Grade = Grade.CERTAIN,
) -> Reading:
    """What the core is told, with stations placed by hand: address to `SWITCH:PORT`."""
    placements = {mac: _placement(mac, where, grade) for mac, where in (at or {}).items()}
    located = Located(placements=placements, uplinks={uplink.here: uplink for uplink in uplinks})
    return read(resolve(patch_map), observe(snapshot(*switches, failed=failed)), located)


def _placement(mac: str, where: str, grade: Grade) -> Placement:
    candidates = tuple(ref(text) for text in where.split(" or "))
    return Placement(mac, candidates[0] if len(candidates) == 1 else None, grade, candidates, "by hand")


def ref(text: str) -> PortRef:
    switch, _, name = text.partition(":")
    return PortRef(switch, name)


def lives(told: Reading) -> dict[str, tuple[str, str]]:
    """Home and whereabouts of every tenant, '' for none."""
    names = {i: str(p) for i, p in enumerate(told.ports)}
    return {
        " ".join(d.name for d in tenant.devices) or f"link at {tenant.home}": (
            names.get(int(told.plan.home[i]), ""),
            names.get(int(told.heard.at[i]), ""),
        )
        for i, tenant in enumerate(told.tenants)
    }


PORTS = [port(f"Gi1/0/{n}") for n in range(1, 9)]


def test_a_port_means_the_same_however_the_map_spells_it():
    patch_map = site([device("tank", "sw-a:GigabitEthernet1/0/3", TANK)])
    told = reading(patch_map, answer("sw-a", PORTS), at={TANK: "sw-a:Gi1/0/5"})
    assert lives(told) == {"tank": ("sw-a:Gi1/0/3", "sw-a:Gi1/0/5")}


def test_a_telephone_and_the_computer_behind_it_are_one_tenant():
    patch_map = site([device("phone", "sw-a:Gi1/0/1", PHONE, carries=True), device("pc", "phone:pc", PC)])
    told = reading(patch_map, answer("sw-a", PORTS), at={PHONE: "sw-a:Gi1/0/2", PC: "sw-a:Gi1/0/2"})
    assert lives(told) == {"phone pc": ("sw-a:Gi1/0/1", "sw-a:Gi1/0/2")}


def test_a_computer_heard_away_from_its_telephone_is_a_tenant_of_its_own():
    patch_map = site([device("phone", "sw-a:Gi1/0/1", PHONE, carries=True), device("pc", "phone:pc", PC)])
    told = reading(patch_map, answer("sw-a", PORTS), at={PHONE: "sw-a:Gi1/0/1", PC: "sw-a:Gi1/0/2"})
    assert lives(told) == {"phone pc": ("sw-a:Gi1/0/1",) * 2, "pc": ("sw-a:Gi1/0/1", "sw-a:Gi1/0/2")}


def test_the_members_of_an_aggregate_are_one_port():
    members = [port("Gi1/0/1", aggregate="Po1"), port("Gi1/0/2", aggregate="Po1"), port("Po1", if_type=161)]
    patch_map = site([device("tank", "sw-a:Gi1/0/2", TANK)])
    told = reading(patch_map, answer("sw-a", [*members, *PORTS[2:]]), at={TANK: "sw-a:Po1"})
    assert lives(told) == {"tank": ("sw-a:Gi1/0/1",) * 2}
    assert ref("sw-a:Gi1/0/2") not in told.ports


def test_a_device_with_two_sockets_is_at_home_when_it_is_heard_in_one():
    patch_map = site([device("tank", "", TANK)], [("sw-a:Gi1/0/1", "tank:eth0"), ("sw-a:Gi1/0/2", "tank:eth1")])
    told = reading(patch_map, answer("sw-a", PORTS), at={TANK: "sw-a:Gi1/0/2"})
    assert not any(home != at for home, at in lives(told).values())


def test_a_device_that_announces_itself_is_at_home_without_an_address():
    said = Neighbour(port="Gi1/0/1", system_name="tank.example")
    told = reading(site([device("tank", "sw-a:Gi1/0/1", TANK)]), answer("sw-a", PORTS, neighbours=[said]))
    assert lives(told) == {"tank": ("sw-a:Gi1/0/1",) * 2}


def test_a_device_that_may_be_at_several_ports_was_heard_at_none_and_is_astray():
    patch_map = site([device("tank", "sw-a:Gi1/0/1", TANK)])
    told = reading(patch_map, answer("sw-a", PORTS), at={TANK: "sw-a:Gi1/0/2 or sw-a:Gi1/0/3"}, grade=Grade.AMBIGUOUS)
    assert lives(told) == {"tank": ("sw-a:Gi1/0/1", "")}
    assert told.tenants[0].astray


def test_a_probable_placement_is_not_firm():
    patch_map = site([device("tank", "sw-a:Gi1/0/1", TANK)])
    told = reading(patch_map, answer("sw-a", PORTS), at={TANK: "sw-a:Gi1/0/2"}, grade=Grade.PROBABLE)
    assert told.heard.firm.tolist() == [False]


@pytest.mark.parametrize(
    ("state", "expected"),
    [
        ({"oper": "up"}, Link.UP),
        ({"oper": "dormant"}, Link.UP),
        ({"oper": "down"}, Link.DOWN),
        ({"oper": "notPresent"}, Link.DOWN),
        ({"oper": "lowerLayerDown"}, Link.DOWN),
        ({"oper": "down", "admin": "down"}, Link.SHUT),
        ({"oper": "unknown"}, Link.UNKNOWN),
        ({"oper": None}, Link.UNKNOWN),
    ],
)
def test_link_states_are_read_from_operational_and_administrative_status(state: dict[str, str], expected: Link):
    # ifOperStatus and ifAdminStatus, RFC 2863
    told = reading(site(), answer("sw-a", [port("Gi1/0/1", **state)]))
    assert told.heard.link.tolist() == [expected]


def test_a_switch_that_did_not_answer_says_nothing_of_its_ports():
    told = reading(site([device("tank", "sw-a:Gi1/0/1", TANK)]), failed=["sw-a"])
    assert told.heard.link.tolist() == [Link.UNKNOWN]
    assert told.heard.read.tolist() == [False]


def test_silence_on_a_switch_whose_forwarding_table_was_cut_short_means_nothing():
    cut = {Table.FORWARDING: TableReport(state=TableState.CUT_SHORT, reason="stopped at row 200")}
    told = reading(site(), answer("sw-a", PORTS, tables=cut))
    assert not told.heard.read.any()


def test_strangers_count_where_the_map_leaves_no_room_for_them():
    patch_map = site(
        [
            device("tank", "sw-a:Gi1/0/1", TANK),
            device("bench switch", "sw-a:Gi1/0/2", CAMERA, carries=True),
            device("converter", "sw-a:Gi1/0/3"),  # has no address to tell it by
        ]
    )
    strangers = {f"dc:a6:32:00:00:{n:02x}": f"sw-a:Gi1/0/{n}" for n in (1, 2, 3, 4)}
    gateway = {"00:00:5e:00:01:07": "sw-a:Gi1/0/5"}  # VRRP, RFC 9568: is not plugged in anywhere
    told = reading(patch_map, answer("sw-a", PORTS), at=strangers | gateway)
    counted = {str(told.ports[i]) for i, n in enumerate(told.heard.strangers.tolist()) if n}
    assert counted == {"sw-a:Gi1/0/1", "sw-a:Gi1/0/4"}


def link(here: str, there: str, source: str = "lldp") -> list[Uplink]:
    return [Uplink(ref(a), ref(b), ref(b).switch, source) for a, b in ((here, there), (there, here))]


def test_an_uplink_in_its_documented_ports_is_at_home_at_both_ends():
    patch_map = site(cords=[("sw-a:Gi1/0/8", "sw-b:Gi1/0/8")])
    told = reading(
        patch_map, answer("sw-a", PORTS), answer("sw-b", PORTS), uplinks=link("sw-a:Gi1/0/8", "sw-b:Gi1/0/8")
    )
    assert lives(told) == {f"link at {end}": (end, end) for end in ("sw-a:Gi1/0/8", "sw-b:Gi1/0/8")}


def test_only_the_end_of_an_uplink_that_was_moved_is_heard_elsewhere():
    patch_map = site(cords=[("sw-a:Gi1/0/8", "sw-b:Gi1/0/8")])
    told = reading(
        patch_map, answer("sw-a", PORTS), answer("sw-b", PORTS), uplinks=link("sw-a:Gi1/0/8", "sw-b:Gi1/0/7")
    )
    assert lives(told) == {
        "link at sw-a:Gi1/0/8": ("sw-a:Gi1/0/8",) * 2,
        "link at sw-b:Gi1/0/8": ("sw-b:Gi1/0/8", "sw-b:Gi1/0/7"),
    }


def test_what_only_the_map_says_of_an_uplink_is_no_hearing():
    patch_map = site(cords=[("sw-a:Gi1/0/8", "sw-b:Gi1/0/8")])
    told = reading(
        patch_map, answer("sw-a", PORTS), answer("sw-b", PORTS), uplinks=link("sw-a:Gi1/0/8", "sw-b:Gi1/0/8", "map")
    )
    assert told.plan.mute.all()
    assert (told.heard.at == -1).all()


def test_documented_ports_that_a_new_box_does_not_have_stay_apart_from_its_own():
    patch_map = site([device("tank", "sw-a:Gi1/0/1", TANK)])
    told = reading(patch_map, answer("sw-a", [port("lan-x"), port("lan-y")]), at={TANK: "sw-a:lan-x"})
    home, at = int(told.plan.home[0]), int(told.heard.at[0])
    assert told.plan.face[home] != told.plan.face[at]
    assert told.plan.switch[home] == told.plan.switch[at]
    assert told.heard.link[home] == Link.NO_PORT
