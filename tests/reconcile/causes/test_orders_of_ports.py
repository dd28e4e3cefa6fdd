"""Port names as rows of sockets, and the maps between ways of counting them."""

from __future__ import annotations

import numpy as np
import pytest

from reconcile.causes.maps import order_maps
from reconcile.causes.sockets import places_of, socket_of
from reconcile.locate.placement import PortRef


@pytest.mark.parametrize(
    ("name", "card", "number"),
    [
        ("Gi1/0/7", "gi1/0/*", 7),
        ("GigabitEthernet2/0/24", "gigabitethernet2/0/*", 24),
        ("ge-0/1/3", "ge-0/1/*", 3),
        ("Ethernet12", "ethernet*", 12),
        ("7", "*", 7),
        ("1.3.5", "1.3.*", 5),
        ("swp10s", "swp*s", 10),
        ("mgmt", "mgmt", 0),
    ],
)
def test_the_last_number_of_a_port_name_counts_sockets_and_the_rest_is_the_card(name: str, card: str, number: int):
    assert socket_of(name)[:2] == (card, number)


def refs(*names: str) -> list[PortRef]:
    return [PortRef("sw-wet", name) for name in names]


def test_stack_members_follow_one_another_on_the_face_and_fast_uplinks_stay_outside():
    names = [f"Gi{member}/0/{n}" for member in (2, 1) for n in (1, 2, 10)] + ["Te1/1/1", "Te1/1/2"]
    rank = dict(zip(names, places_of(refs(*names), frozenset()).rank, strict=True))
    assert [rank[f"Gi{m}/0/{n}"] for m in (1, 2) for n in (1, 2, 10)] == [0, 1, 2, 3, 4, 5]
    assert rank["Te1/1/1"] == rank["Te1/1/2"] == -1


def test_ports_of_two_cards_are_in_two_blocks():
    places = places_of(refs("Gi1/0/23", "Gi1/0/24", "Gi2/0/1"), frozenset())
    assert places.block[0] == places.block[1] != places.block[2]


def test_documented_ports_that_the_switch_lacks_are_a_face_of_their_own():
    absent = refs("Gi1/0/1", "Gi1/0/2")
    places = places_of([*refs("Ethernet1", "Ethernet2"), *absent], frozenset(absent))
    assert places.face[0] == places.face[1] != places.face[2] == places.face[3]
    assert places.switch == [0, 0, 0, 0]
    assert places.rank == [0, 1, 0, 1]


@pytest.mark.parametrize("ports", [1, 2, 8, 9, 24, 28, 48, 52, 96])
def test_no_map_sends_two_ports_to_one_place_and_no_map_is_there_twice(ports: int):
    names, orders = order_maps(ports)
    assert len(set(names)) == len(names) == len({tuple(order) for order in orders.tolist()})
    for order in orders:
        on_face = order[order >= 0]
        assert len(set(on_face.tolist())) == len(on_face)
        assert (order < ports).all()
    assert names[0] == "in the same order"
    assert (orders[0] == np.arange(ports)).all()


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("counted 1 higher", [1, 2, 3, 4, 5, 6, 7, -1]),
        ("counted from the other end", [7, 6, 5, 4, 3, 2, 1, 0]),
        ("with each pair exchanged", [1, 0, 3, 2, 5, 4, 7, 6]),
        ("with the halves exchanged", [4, 5, 6, 7, 0, 1, 2, 3]),
        # Sockets 0 2 4 6 above 1 3 5 7; along the rows 0 1 2 3 above 4 5 6 7.
        ("counted along each row instead of down and across", [0, 4, 1, 5, 2, 6, 3, 7]),
        ("counted down and across instead of along each row", [0, 2, 4, 6, 1, 3, 5, 7]),
        ("turned round by 3", [3, 4, 5, 6, 7, 0, 1, 2]),
    ],
)
def test_maps_of_eight_ports_are_what_their_names_say(name: str, expected: list[int]):
    names, orders = order_maps(8)
    assert orders[names.index(name)].tolist() == expected


def test_a_number_of_many_digits_counts_by_its_end() -> None:
    assert socket_of("PP-A:" + "7" * 25).number == 777_777_777
    assert socket_of("Gi2/0/7").number == 7
