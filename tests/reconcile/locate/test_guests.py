"""A server whose hypervisor relays for its guests announces a bridge by LLDP, as a switch does: which of both it is."""

from __future__ import annotations

import pytest

from collectors.snapshot import FailedSwitch, Neighbour
from reconcile.frames import observe
from reconcile.locate import locate, proof
from reconcile.locate.placement import Grade, Located, PortRef
from tests.reconcile.locate.hand import TAKEN, Hand, certain

SERVER = "ac:1f:6b:84:3d:e0"
GUESTS = ("52:54:00:6b:1f:20", "00:0c:29:d3:40:07")  # QEMU by convention; VMware by the IEEE registry (from memory)
CARD = "00:30:de:41:b7:09"  # a device's, universally administered
PHONES = ("da:12:34:56:78:9a", "6e:1b:90:44:d7:3f", "9a:03:5c:e8:12:76")  # randomised (IEEE 802, octet 0 bit 0x02)
HERE = PortRef("lab", "5")
HAND = Hand({"lab": "9", "shed": "9"}, lab="x:1 y:9", shed="x:9 y:1")


def server(**more: object) -> Neighbour:
    said = {"port": "5", "chassis_id": SERVER, "port_id": SERVER, "port_id_kind": "macAddress",
            "system_name": "hv-1", "capabilities": ["bridge", "router"]}  # fmt: skip
    return Neighbour.model_validate(said | more)


def behind_it(*heard: str, neighbours: tuple[Neighbour, ...] = (server(),), **more: object) -> Located:
    rows = {"lab": [(address, 1, "5") for address in heard], "shed": [(address, 1, "9") for address in heard]}
    return HAND.located(more=rows, neighbours={"lab": neighbours}, **more)


def test_a_server_that_announces_a_bridge_is_at_its_port_and_its_guests_are_behind_it() -> None:
    located = behind_it(SERVER, *GUESTS)
    itself = located.placements[SERVER]
    assert (itself.at, itself.grade) == (HERE, Grade.CERTAIN)
    assert "2 guests behind it" in itself.because
    for guest in GUESTS:
        placement = located.placements[guest]
        assert (placement.at, placement.grade) == (HERE, Grade.PROBABLE)
        assert placement.because.endswith("a guest behind hv-1")
        assert placement.behind == "hv-1"
    assert {"x": "lab:1", "y": "shed:1"}.items() <= certain(located).items()


def test_a_server_without_guests_is_at_its_port() -> None:
    assert behind_it(SERVER).placements[SERVER].grade is Grade.CERTAIN


def test_half_of_the_guests_may_have_addresses_that_any_software_gives() -> None:
    located = behind_it(SERVER, *GUESTS, *PHONES[:2])
    assert {located.placements[address].at for address in (*GUESTS, *PHONES[:2])} == {HERE}


@pytest.mark.parametrize(
    ("heard", "neighbours"),
    [
        ((SERVER, *GUESTS, CARD), (server(),)),
        ((SERVER, *GUESTS, "00:00:5e:00:01:07"), (server(),)),  # a virtual router's (RFC 9568)
        (GUESTS, (server(),)),
        ((SERVER, *PHONES), (server(),)),
        ((SERVER, *(f"52:54:00:00:00:{n:02x}" for n in range(40))), (server(),)),
        ((SERVER, *GUESTS), (server(protocol="cdp"),)),
        ((SERVER, *GUESTS), (server(), server(chassis_id="d0:43:1e:77:5a:00", system_name="sw-9"))),
    ],
    ids=["a device's card", "a virtual gateway", "itself mute", "telephones", "very many", "told by CDP", "two"],
)
def test_whatever_else_announces_a_bridge_is_a_switch_that_was_not_asked(
    heard: tuple[str, ...], neighbours: tuple[Neighbour, ...]
) -> None:
    located = behind_it(*heard, neighbours=neighbours)
    told = [located.placements[address] for address in heard if address in located.placements]
    assert {(placement.grade, placement.at) for placement in told} == {(Grade.AMBIGUOUS, None)}
    assert all("leads to hv-1, and that was not asked" in placement.because for placement in told)


def test_a_switch_of_the_site_that_did_not_answer_is_none() -> None:
    rows = {"lab": [(address, 1, "5") for address in (SERVER, *GUESTS)]}
    failed = FailedSwitch(name="hv-1", started=TAKEN, reason="did not answer", kind="no answer")
    snapshot = HAND.snapshot(more=rows, neighbours={"lab": [server()]}).model_copy(update={"failed": [failed]})
    assert locate(observe(snapshot)).placements[GUESTS[0]].grade is Grade.AMBIGUOUS


def test_the_map_can_take_that_conclusion_back() -> None:
    located = behind_it(SERVER, *GUESTS, links=[(HERE, PortRef("attic", "1"))])
    assert {located.placements[address].grade for address in (SERVER, *GUESTS)} == {Grade.AMBIGUOUS}


def test_the_proof_says_why_it_is_taken_for_a_machine() -> None:
    rows = {"lab": [(address, 1, "5") for address in (SERVER, *GUESTS)]}
    told = proof(HAND.observed(more=rows, neighbours={"lab": [server()]}), GUESTS[0])
    assert any("looks like a machine with guests, not like a switch" in sentence for sentence in told)
