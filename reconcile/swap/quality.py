"""What is back, and is worse than it was: slower, without its power, in another VLAN, out of its aggregation."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from collectors.snapshot import Table
from reconcile.locate.placement import PortRef
from reconcile.swap.correspondence import Correspondence
from reconcile.swap.likeness import feeds
from reconcile.swap.look import Look
from reconcile.swap.model import Left, Trouble, Weight
from reconcile.swap.outcome import near


def worse(
    subjects: Iterable[tuple[str, PortRef, Weight]], before: Look, after: Look, ports: Correspondence
) -> Iterator[Left]:
    """For every subject with the port that it was at: each way in which the matching port is worse now."""
    told: set[tuple[PortRef, Trouble]] = set()
    for subject, old, weight in subjects:
        new = ports.new(old)
        if new is None or new not in after.picture.ports or not after.link_up(new):
            continue
        for trouble, says, do in (*_port(old, new, before, after, ports), *_heard_in(old, new, before, after)):
            if (old, trouble) not in told:
                told.add((old, trouble))
                yield Left(
                    trouble=trouble, weight=weight, subject=subject, was_at=str(old), belongs_at=str(new),
                    now_at=str(new), says=says, do=do,
                )  # fmt: skip


def _port(
    old: PortRef, new: PortRef, before: Look, after: Look, ports: Correspondence
) -> Iterator[tuple[Trouble, str, str]]:
    was, now = before.picture.ports[old], after.picture.ports[new]
    then = "before" if old == new else f"before, at {old}"
    if feeds(was) and feeds(now) is False:
        yield Trouble.NO_POWER, f"{new} delivers no power, and did {then}", f"switch PoE on {near(new)}"
    elif feeds(was) and feeds(now) is None and after.picture.coverage.gap(new.switch, Table.POWER) == "":
        words = f"{new} has no PoE that its switch tells of, and it delivered power {then}"
        yield Trouble.NO_POWER, words, f"look whether the port can feed it at all, {near(new)}"
    if was.pvid is not None and now.pvid is not None and was.pvid != now.pvid:
        words = f"{new} has VLAN {now.pvid} untagged; {was.pvid} {then}"
        yield Trouble.OTHER_VLAN, words, f"set the untagged VLAN {was.pvid} {near(new)}"
    if was.aggregate and not now.aggregate and ports.new(old) is not None:
        words = f"{new} is a member of no aggregation; of {was.aggregate} {then}"
        yield Trouble.UNBUNDLED, words, f"join it to the aggregation {near(new)}"
    if was.speed_mbps and now.speed_mbps and now.speed_mbps < was.speed_mbps:
        words = f"{new} runs at {now.speed_mbps} Mbit/s; at {was.speed_mbps} {then}"
        yield Trouble.SLOWER, words, f"seat the cord anew {near(new)}, then try another one"
    elif was.duplex == "full" and now.duplex == "half":
        words = f"{new} runs half duplex; full {then}"
        yield Trouble.SLOWER, words, f"set both ends to negotiate {near(new)}"


def _heard_in(old: PortRef, new: PortRef, before: Look, after: Look) -> Iterator[tuple[Trouble, str, str]]:
    """Stations of the port that talk in other VLANs than they did."""
    if before.uplink(old):
        return
    was = {placement.mac: set(placement.vlans) for placement in before.picture.stations(old)}
    for placement in after.picture.stations(new):
        vlans = was.get(placement.mac, set())
        if vlans and placement.vlans and not vlans & set(placement.vlans):
            one, other = (", ".join(map(str, sorted(found))) for found in (placement.vlans, vlans))
            words = f"{placement.mac} talks in VLAN {one} at {new}, and did in {other}"
            yield Trouble.OTHER_VLAN, words, f"set the VLANs {near(new)} as they were"
            return
