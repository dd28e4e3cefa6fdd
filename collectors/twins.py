"""Two rows of a site that are one switch: its stations would count twice, and its ports would face themselves."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from collectors.names import AddressKind, address_kind
from collectors.snapshot import CollectedSwitch


def note_twins(switches: Sequence[CollectedSwitch]) -> list[CollectedSwitch]:
    """The switches, each that answers as another one with an oddity that names the other."""
    known: dict[str, list[str]] = {}
    for switch in switches:
        for identity in _identities(switch):
            known.setdefault(identity, []).append(switch.name)
    return [_noted(switch, known) for switch in switches]


def _noted(switch: CollectedSwitch, known: dict[str, list[str]]) -> CollectedSwitch:
    for identity in _identities(switch):
        others = [name for name in known[identity] if name != switch.name]
        if others:
            told = f"answers as the same switch as {', '.join(others)} ({identity}): are both addresses right?"
            return switch.model_copy(update={"oddities": [*switch.oddities, told]})
    return switch


def _identities(switch: CollectedSwitch) -> Iterator[str]:
    """What no two switches share. Some agents give an all-zero chassis id; virtual addresses are shared by design."""
    if switch.chassis_id.strip("0:. "):
        yield f"chassis id {switch.chassis_id}"
    own = [mac for mac in switch.own_macs if address_kind(mac) is AddressKind.DEVICE]
    if own:
        yield f"{len(own)} own MAC addresses from {min(own)} to {max(own)}"
    for part in switch.hardware:
        if part.kind == "chassis" and part.serial:
            yield f"chassis serial {part.model} {part.serial}"
