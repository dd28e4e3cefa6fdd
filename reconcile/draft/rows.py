"""What is written: a row for each cord, in the order of switches and ports, and what was left open."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field

from collectors.snapshot import CollectedSwitch
from reconcile.draft.links import Links, find_links
from reconcile.draft.model import Draft, DraftRow, DraftSwitch, OpenPoint
from reconcile.draft.naming import Names, address_name, plain
from reconcile.draft.occupants import CARRYING, Census, Occupants, Who, stations_in_words
from reconcile.draft.scene import Scene, Spot
from reconcile.locate.placement import Placement, PortRef
from reconcile.patchmap.index import natural
from reconcile.patchmap.model import End
from reconcile.patchmap.spelling import clean
from reconcile.patchmap.to_fill import UNKNOWN

LONGEST_NOTE = 400
"""Characters of a row's remarks."""

_AT_PORT = ("outlet", "jack", "room", "cord")


def write_rows(scene: Scene, nothing: Collection[str] = ()) -> Draft:
    """The draft of one scene."""
    snapshot = scene.snapshot
    asked = [_switch(switch) for switch in snapshot.switches]
    switches = [*asked, *(DraftSwitch(name=failed.name, answered=False) for failed in snapshot.failed)]
    writer = _Writer(scene, find_links(scene), Names((switch.name for switch in switches), nothing))
    rows = tuple(writer.rows())
    return Draft(
        site=snapshot.site,
        taken=snapshot.finished,
        switches=tuple(sorted(switches, key=lambda one: natural(one.name))),
        rows=rows,
        open=tuple(dict.fromkeys(scene.open)),
    )


def _switch(switch: CollectedSwitch) -> DraftSwitch:
    models = sorted(part.model for part in switch.hardware if part.kind == "chassis" and part.model)
    return DraftSwitch(name=switch.name, model=plain(models[0]) if models else "")


@dataclass(slots=True)
class _Writer:
    """Gives names and sockets as rows are made; nobody gets two names, and no address stands in two rows."""

    scene: Scene
    links: Links
    names: Names
    _named: dict[str, tuple[str, bool]] = field(default_factory=dict)
    _sockets: Counter[str] = field(default_factory=Counter)
    _written: set[str] = field(default_factory=set)

    def rows(self) -> Iterator[DraftRow]:
        """Every row."""
        on = self._occupants()
        uses = Counter(
            on[group].fronts.get(member, on[group].front).key
            for group, spot in self.scene.spots.items()
            if group in on
            for member in self._own(spot)
        )
        for group, spot in self.scene.spots.items():
            for member in spot.members:
                if member in self.links.cords:
                    yield from self._link(member, self.links.cords[member])
                elif member in self.links.unread:
                    yield self._unread(member, self.links.unread[member])
            if group in on:
                yield from self._devices(spot, on[group], uses)
            else:
                self._leave(spot, [*spot.sure, *spot.beyond], "heard on a link between switches")

    def _own(self, spot: Spot) -> tuple[PortRef, ...]:
        """The members of a spot on which no link between switches is written."""
        return tuple(m for m in spot.members if m not in self.links.cords and m not in self.links.unread)

    def _occupants(self) -> dict[PortRef, Occupants]:
        """Who is on every spot that some row has to tell of; the ends of a shared wire have one unmanaged switch."""
        census, found = Census(self.scene), dict[PortRef, Occupants]()
        for wire in self.scene.shared:
            joint = Who(f"wire {wire[0]}", kind="unmanaged switch", notes=["joins " + ", ".join(map(str, wire))])
            stations = [p for end in wire for p in self.scene.spots[end].sure]
            behind = [census.of(p) for p in stations if census.lasts(p.mac)]
            found |= {end: Occupants(joint) for end in wire}
            found[wire[0]] = Occupants(joint, behind, [p for p in stations if not census.lasts(p.mac)])
        for group, spot in self.scene.spots.items():
            own = self._own(spot)
            if group in found or not own:
                continue
            if any(member in self.links.words for member in own):
                words = next(self.links.words[member] for member in own if member in self.links.words)
                unsure = Who(f"link {group}", kind="switch", notes=[words])
                found[group] = Occupants(unsure, [], [*spot.sure, *spot.beyond], "reached through another switch")
            else:
                found[group] = census.at(spot)
        return found

    def _devices(self, spot: Spot, on: Occupants, uses: Counter[str]) -> Iterator[DraftRow]:
        """The row of each cord of a spot, then those of the devices that are reached through its front."""
        self._leave(spot, on.left, on.why)
        for placement in spot.perhaps:
            self._leave(spot, [placement], f"only probably here: {placement.because}")
        heard = [*(["renamed, it is to be renamed in the rows behind it too"] if on.behind else []), *_heard(spot, on)]
        own = self._own(spot)
        for member in own:
            front = on.fronts.get(member, on.front)
            self._name(front, member)
            yield self._row(
                front, End(member.switch, self.scene.cell[member]), carries=on.carries or bool(spot.perhaps),
                notes=[*front.notes, *heard], socket=self._socket(front) if uses[front.key] > 1 else "",
                port=member, to_fill=_AT_PORT,
            )  # fmt: skip
        new = [who for who in on.behind if who.key not in self._named] if own else []
        for who in new:
            name, _ = self._name(on.front, own[0])
            alone = on.front.kind == "phone" and len(new) == uses[on.front.key] == 1
            socket = "pc" if alone else self._socket(on.front)
            self._name(who, own[0])
            carries = who.kind in CARRYING
            yield self._row(who, End(name, socket), behind=True, carries=carries, notes=who.notes, to_fill=("room",))

    def _socket(self, who: Who) -> str:
        """The next socket of a device whose sockets nobody told the names of."""
        self._sockets[who.key] += 1
        return f"?{self._sockets[who.key]}"

    def _name(self, who: Who, place: PortRef) -> tuple[str, bool]:
        """The name of a device, given when it is first asked for, and whether anybody told it."""
        if who.key not in self._named:
            cell = self.scene.cell[place]
            where = f"{place.switch} {cell}".replace(":", "-")
            wanted = who.name or (address_name(who.macs[0]) if who.macs else UNKNOWN + where)
            further = (*(mac[-8:].replace(":", "") for mac in who.macs[:1]), where)
            self._named[who.key] = (self.names.give(wanted, *further), bool(who.name))
        return self._named[who.key]

    def _row(
        self, who: Who, at: End, *, notes: list[str], to_fill: tuple[str, ...], socket: str = "",
        carries: bool = False, behind: bool = False, port: PortRef | None = None,
    ) -> DraftRow:  # fmt: skip
        name, named = self._named[who.key]
        macs = tuple(mac for mac in who.macs if mac not in self._written)
        self._written.update(macs)
        return DraftRow(
            at=at, behind=behind, device=name, socket=socket, named=named, kind=who.kind, carries=carries, macs=macs,
            ips=who.ips, maker=who.maker, vlans=who.vlans, description=self._description(port),
            to_fill=to_fill if named else ("device", *to_fill), note=_joined(notes),
        )  # fmt: skip

    def _description(self, port: PortRef | None) -> str:
        text = clean(self.scene.ports[port].alias[:LONGEST_NOTE]) if port else ""
        return "" if port and text in (port.port, self.scene.ports[port].descr) else text

    def _link(self, here: PortRef, there: PortRef) -> Iterator[DraftRow]:
        """A link between switches, told at its first end."""
        if str(there) in self._written:
            return
        self._written.add(str(here))
        far = End(there.switch, self.scene.cell[there])
        at, said = End(here.switch, self.scene.cell[here]), self._description(here) or self._description(there)
        yield DraftRow(at=at, far=far, description=said, to_fill=("cord",))

    def _unread(self, here: PortRef, far: End) -> DraftRow:
        at, note = End(here.switch, self.scene.cell[here]), f"{far.name} did not answer: this is what it says of itself"
        to_fill = ("port", "cord") if far.position.startswith("?") else ("cord",)
        return DraftRow(at=at, far=far, description=self._description(here), to_fill=to_fill, note=note)

    def _leave(self, spot: Spot, stations: Sequence[Placement], because: str) -> None:
        """Stations that are at a spot and get no row."""
        if stations:
            what = f"{len(stations)} stations got no row" if len(stations) > 1 else "1 station got no row"
            macs, at = tuple(p.mac for p in stations), spot.group
            point = OpenPoint(what=what, because=because, switch=at.switch, port=at.port, macs=macs)
            self.scene.open.append(point)


def _heard(spot: Spot, on: Occupants) -> Iterator[str]:
    """What is heard on a spot beside the device whose row it is."""
    yield stations_in_words(on.left, "also heard, not written down")
    yield stations_in_words(spot.perhaps, "probably here")
    if not on.front.macs:
        yield stations_in_words(spot.maybe, "perhaps here, or at another port")


def _joined(notes: list[str]) -> str:
    text = "; ".join(dict.fromkeys(clean(note) for note in notes if note))
    return text if len(text) <= LONGEST_NOTE else text[: LONGEST_NOTE - 1] + "…"
