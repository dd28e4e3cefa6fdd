"""Several stations on one port, aggregates and stacks, and addresses that are in many places: told as what they are."""

from __future__ import annotations

import pytest

from collectors.snapshot import FailedSwitch, Neighbour, Port
from reconcile.frames import observe
from reconcile.locate import locate, proof
from reconcile.locate.placement import Grade, Located, PortRef
from tests.reconcile.locate.hand import TAKEN, Hand, certain, ends, mac

AP = "00:1b:23:00:00:a0"
CLIENTS = ("da:12:34:56:78:9a", "6e:1b:90:44:d7:3f")  # randomised (IEEE 802, octet 0 bit 0x02)
JOINED = {"lab": "9", "shed": "9"}
TABLES = {"lab": "x:1 y:9 z:9 v:2", "shed": "x:9 y:1 z:2 v:9"}


def behind(capabilities: list[str], *heard: str, own: str = AP) -> Located:
    device = Neighbour(port="5", chassis_id=own, system_name="ap-3", capabilities=capabilities)
    rows = {"lab": [(address, 1, "5") for address in heard], "shed": [(address, 1, "9") for address in heard]}
    return Hand(JOINED, **TABLES).located(more=rows, neighbours={"lab": [device]})


@pytest.mark.parametrize(
    ("capabilities", "what"),
    [(["bridge", "wlanAccessPoint"], "an access point"), (["bridge", "telephone"], "a telephone")],
)
def test_what_speaks_through_an_access_point_or_a_telephone_is_told_behind_it(
    capabilities: list[str], what: str
) -> None:
    located = behind(capabilities, AP, *CLIENTS)
    for client in CLIENTS:
        placement = located.placements[client]
        assert (placement.at, placement.grade) == (PortRef("lab", "5"), Grade.CERTAIN)
        assert placement.because.endswith(f"where ap-3 says by LLDP that it is {what}: behind it")
    itself = located.placements[AP]
    assert itself.grade is Grade.CERTAIN
    assert itself.because.endswith("that this is its address, with 2 more on its port")


def test_an_access_point_that_is_alone_is_told_as_itself_and_a_lone_station_not_as_behind_it() -> None:
    assert behind(["wlanAccessPoint"], AP).placements[AP].because.endswith("that this is its address")
    other = behind(["wlanAccessPoint"], CLIENTS[0]).placements[CLIENTS[0]]
    assert other.because == "heard on this port, which faces no other switch"


def test_a_client_that_walked_from_one_access_point_to_another_is_told_with_both_and_spoils_nothing() -> None:
    """The old one's switch still has it: a table forgets after 300 s (IEEE 802.1D), radio tells no wire."""
    rows = {"lab": [(CLIENTS[0], 1, "5"), (CLIENTS[1], 1, "5")], "shed": [(CLIENTS[0], 1, "6"), (CLIENTS[1], 1, "9")]}
    located = Hand(JOINED, **TABLES).located(more=rows)
    walked = located.placements[CLIENTS[0]]
    assert (walked.grade, set(walked.candidates)) == (Grade.AMBIGUOUS, {PortRef("lab", "5"), PortRef("shed", "6")})
    assert any(CLIENTS[0] in sentence for sentence in located.conflicts)
    assert located.placements[CLIENTS[1]].at == PortRef("lab", "5")
    assert certain(located).items() >= {"x": "lab:1", "y": "shed:1", "z": "shed:2", "v": "lab:2"}.items()


def test_cords_from_two_members_of_a_stack_in_one_aggregate_are_one_link() -> None:
    """lab is a stack of two: ports 1/0/9 and 2/0/9 are one aggregate, and sightings come on either name."""
    hand = Hand(lab="", shed="")
    rows = {
        "lab": [("00:1b:23:00:00:01", 1, "2/0/1"), ("00:1b:23:00:00:02", 1, "1/0/9"), ("00:1b:23:00:00:03", 1, "Po1")],
        "shed": [("00:1b:23:00:00:01", 1, "Po7"), ("00:1b:23:00:00:02", 1, "1"), ("00:1b:23:00:00:03", 1, "2")],
    }
    rows["lab"].append((hand.chassis("shed"), 1, "2/0/9"))
    rows["shed"].append((hand.chassis("lab"), 1, "8"))
    snapshot = hand.snapshot(more=rows)
    lab, shed = snapshot.switches
    lab.ports = [Port(name=n, oper="up", aggregate="Po1" if n.endswith("/9") else None) for n in
                 ("1/0/1", "1/0/9", "2/0/1", "2/0/9", "Po1")]  # fmt: skip
    shed.ports = [Port(name=n, oper="up", aggregate="Po7" if n in "89" else None) for n in ("1", "2", "8", "9", "Po7")]
    located = locate(observe(snapshot))
    assert ends(located) == {frozenset({"lab:Po1", "shed:Po7"})}
    assert {str(p.at) for p in located.placements.values()} == {"lab:2/0/1", "shed:1", "shed:2"}
    assert {p.grade for p in located.placements.values()} == {Grade.CERTAIN}


def test_a_clusters_address_and_a_virtual_routers_are_seen_everywhere_and_put_nowhere() -> None:
    """CARP and VRRP share 00:00:5e:00:01 (RFC 9568); a cluster of servers answers on several ports at once."""
    everywhere = ("00:00:5e:00:01:0a", "02:bf:0a:00:00:01", "00:00:0c:9f:f0:01")
    rows = {
        "lab": [(address, 1, port) for address in everywhere for port in ("3", "4")],
        "shed": [(address, 1, "9") for address in everywhere],
    }
    located = Hand(JOINED, **TABLES).located(more=rows)
    assert set(everywhere) <= set(located.unplaced)
    assert located.conflicts == ()
    assert len(certain(located)) == 4


@pytest.mark.parametrize(
    ("observed", "station", "beginning"),
    [
        (Hand(JOINED, **TABLES).observed(), mac("x"), "certain: at lab:1, heard on this port"),
        (Hand(lab="x:1 y:2 z:3", stub="x:1 z:1", ports={"stub": 2}).observed(), mac("y"), "certain unless: at lab:2"),
        (Hand(lab="x:1 y:9 z:2", shed="x:9 y:1 z:9").observed(), mac("x"), "probable: at lab:1"),
        (Hand(JOINED, lab="x:1 y:9 z:9", shed="x:9 y:1").observed(), mac("z"), "ambiguous: "),
    ],
    ids=["certain", "certain unless", "probable", "ambiguous"],
)
def test_every_grade_is_told_with_its_rows(observed: object, station: str, beginning: str) -> None:
    told = proof(observed, station)  # type: ignore[arg-type] # made by Hand
    assert told[0].startswith(beginning)
    assert any(row.startswith("lab has it on ") for row in told)
    assert all(sentence and "None" not in sentence and "  " not in sentence for sentence in told)


def on_port(*heard: str, vlans: tuple[int, ...] = (1,), said: tuple[Neighbour, ...] = ()) -> Located:
    rows = {"lab": [(address, vlan, "5") for address in heard for vlan in vlans]}
    return Hand(JOINED, **TABLES).located(more=rows, neighbours={"lab": said})


def test_a_guests_address_beside_others_is_told_as_a_guest() -> None:
    """52:54:00 is QEMU's by convention (from memory); the machine below it speaks no LLDP."""
    located = on_port("52:54:00:00:00:01", AP)
    assert "a guest of a machine there" in located.placements["52:54:00:00:00:01"].because
    assert "guest" not in located.placements[AP].because


def test_a_station_in_many_vlans_on_one_port_is_told_as_a_router() -> None:
    """A telephone is in two VLANs; what is in three or more speaks on a trunk (common practice)."""
    assert "in 3 VLANs, as a router or firewall is" in on_port(AP, vlans=(10, 20, 30)).placements[AP].because
    assert "VLANs" not in on_port(AP, vlans=(10, 20)).placements[AP].because


def test_stations_beside_a_neighbour_that_does_not_say_what_it_is_are_probable() -> None:
    """The capabilities are optional (IEEE 802.1AB clause 8.5.8, from memory): it may be a switch that was not asked."""
    cellar = Neighbour(port="5", chassis_id=AP, system_name="cellar", capabilities=None)
    card = "00:30:de:41:b7:09"
    located = on_port(AP, card, said=(cellar,))
    assert (located.placements[card].grade, located.placements[card].at) == (Grade.PROBABLE, PortRef("lab", "5"))
    assert "cellar speaks by LLDP and does not say what it is" in located.placements[card].because
    assert located.placements[AP].grade is Grade.CERTAIN
    assert on_port(card, said=(cellar,)).placements[card].grade is Grade.CERTAIN


def test_an_address_that_a_cluster_or_a_telephone_may_have_is_probably_where_it_is_heard_alone() -> None:
    """02:01 to 02:20 begin addresses of servers that share another one (published lists), and made-up ones."""
    alone = on_port("02:0f:aa:12:34:56").placements["02:0f:aa:12:34:56"]
    assert (alone.grade, alone.at) == (Grade.PROBABLE, PortRef("lab", "5"))
    assert "02:bf:0a:00:00:01" in on_port("02:bf:0a:00:00:01").unplaced


def test_a_switch_that_did_not_answer_is_named_among_what_may_be_behind_a_port() -> None:
    failed = FailedSwitch(name="boat", started=TAKEN, reason="did not answer", kind="no answer")
    snapshot = Hand(JOINED, lab="x:1 y:1 z:9", shed="x:9 y:9 z:1").snapshot()
    located = locate(observe(snapshot.model_copy(update={"failed": [failed]})))
    assert located.placements[mac("x")].because.endswith("hypervisor or telephone, or boat, which did not answer")
    assert "boat" not in located.placements[mac("z")].because
