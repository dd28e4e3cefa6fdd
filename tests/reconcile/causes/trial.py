"""One trial: a documented world, faults, what the switches hear, the explanation, and the score."""

from __future__ import annotations

import copy
import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import chain

import numpy as np

from reconcile.causes.certainty import Explained
from reconcile.causes.plan import Deed, Event, Heard, Link, Plan
from reconcile.causes.story import cheapest_story
from tests.reconcile.causes import injector
from tests.reconcile.causes.faults import draw_kinds, strike
from tests.reconcile.causes.injector import PANEL, Fault, World

_DEEDS = {
    "cord to free port": Deed.MOVED,
    "device to spare outlet": Deed.MOVED,
    "device on a new cord": Deed.MOVED,
    "crossed at switch": Deed.CROSSED,
    "crossed at panel": Deed.CROSSED,
    "devices exchanged": Deed.CROSSED,
    "rotated": Deed.ROTATED,
    "shifted at switch": Deed.SHIFTED,
    "shifted at panel": Deed.SHIFTED,
    "renumbered": Deed.RENUMBERED,
    "boxes exchanged": Deed.RENUMBERED,
    "re-plugged": Deed.REPLUGGED,
    "replaced": Deed.REPLACED,
    "cord to a stranger's jack": Deed.REPLACED,
    "gone": Deed.GONE,
    "cord pulled": Deed.GONE,
    "cord to an empty jack": Deed.GONE,
    "come on a free port": Deed.COME,
    "come at a spare outlet": Deed.COME,
}
"""The class that each physical fault belongs to: faults of one deed look alike in every table and link state."""

_ORDERS = (Deed.SHIFTED, Deed.RENUMBERED)  # all ports counted one higher is a shift of all


@dataclass
class Tally:
    """Faults counted: all, observable, and of these in the best story, in the reported class, and of these only in
    other words; sure claims, and the false ones among them."""

    faults: int = 0
    observable: int = 0
    best: int = 0
    in_class: int = 0
    other_words: int = 0
    sure: int = 0
    false_sure: int = 0
    missed: Counter[str] = field(default_factory=Counter)
    notes: list[str] = field(default_factory=list)

    def __iadd__(self, other: Tally) -> Tally:
        for name in ("faults", "observable", "best", "in_class", "other_words", "sure", "false_sure"):
            setattr(self, name, getattr(self, name) + getattr(other, name))
        self.missed += other.missed
        self.notes += other.notes
        return self


@dataclass
class Scene:
    """Columns for the explanation, and the truth in the same numbers."""

    plan: Plan
    heard: Heard
    names: list[str]
    where: dict[str, int]  # final port label of everybody who is connected
    audible: set[str]


def scene(before: World, after: World, completeness: float, off: float, seed: int) -> Scene:
    """What the map says of `before` and the switches of `after`."""
    rng = random.Random(seed)
    ports = before.switches * before.sockets
    homes = {who: socket for socket, who in before.occupants().items()}
    names = sorted(homes)
    cord_at = {cord.socket: cord for cord in before.cords}
    where = {who: label for label, who in injector.labels(after)}
    everybody = sorted(set(names) | set(where))
    asleep = {who for who in everybody if who.startswith("device") and rng.random() < off}
    audible = {who for who in where if who not in asleep and rng.random() < completeness}
    link = np.full(ports, Link.DOWN)
    strangers = np.zeros(ports, dtype=np.int64)
    for who, label in where.items():
        if who not in asleep:
            link[label] = Link.UP
        if who in audible and who not in homes:
            strangers[label] += 1
    index = np.arange(ports)
    card = before.sockets // before.cards
    jack = np.array([cord_at[p].jack if p in cord_at else -1 for p in index.tolist()])
    plan = Plan(
        switch=index // before.sockets,
        face=index // before.sockets,
        rank=index % before.sockets,
        block=index // card,
        number=index % card,
        panel=np.where(jack >= 0, jack // PANEL, -1),
        jack=np.where(jack >= 0, jack % PANEL, -1),
        room=np.where(jack >= 0, jack // 6, -1),
        home=np.array([homes[n] for n in names]),
        mute=np.zeros(len(names), dtype=bool),
    )
    heard = Heard(
        at=np.array([where[n] if n in audible else -1 for n in names]),
        firm=np.ones(len(names), dtype=bool),
        link=link,
        read=np.ones(ports, dtype=bool),
        strangers=strangers,
    )
    return Scene(plan, heard, names, where, audible)


def run(
    seed: int, switches: int, sockets: int, faults: int, completeness: float, off: float, *, overlapping: bool = False
) -> Tally:
    """One trial from its seed."""
    before = injector.documented(seed, switches, sockets)
    after = copy.deepcopy(before)
    strike(after, draw_kinds(after.rng, faults), overlapping)
    seen = scene(before, after, completeness, off, seed)
    return score(seen, after.faults, cheapest_story(seen.plan, seen.heard))


def score(seen: Scene, faults: Sequence[Fault], story: Sequence[Explained]) -> Tally:
    """How many faults the story found, and how many sure claims no fault bears out."""
    truths = [_Truth(seen, fault, faults) for fault in faults]
    same = _Sameness(truths, [e.event for e in story])
    tally = Tally(faults=len(faults))
    for truth in truths:
        if not truth.observable:
            continue
        tally.observable += 1
        best = any(truth.matches(e.event) for e in story)
        reported = best or any(truth.matches(x) for e in story for other in e.others for x in other)
        reported = reported or truth.longer_than_told(story) or any(truth.is_half_of(e.event) for e in story)
        in_other_words = not reported and same.in_effect({d for d, _ in truth.moves})
        tally.best += best
        tally.in_class += reported or in_other_words
        tally.other_words += in_other_words
        if not (reported or in_other_words):
            tally.missed[truth.fault.kind] += 1
            tally.notes.append(f"{truth.fault} heard {sorted(truth.heard)}")
    for e in story:
        if e.sure:
            tally.sure += 1
            if not any(truth.matches(e.event) for truth in truths) and not same.in_effect(set(e.event.devices)):
                tally.false_sure += 1
                tally.notes.append(f"false sure: {e.event}")
    return tally


class _Sameness:
    """Whether a story comes to the same as what happened, in other words: a ring of four beside a block of four, all
    one step down but one, is a block of seven and a move."""

    def __init__(self, truths: Sequence[_Truth], events: Sequence[Event]) -> None:
        self._done = [truth.moves for truth in truths if truth.moves]
        self._told = [{(m.device, m.target) for m in e.moves if m.origin != m.target} for e in events if e.moves]

    def in_effect(self, devices: set[int]) -> bool:
        """True when all that was told of these devices, and of those who were moved together with them, is exactly
        what happened to them, whether they were heard or not."""
        reached: set[int] = set()
        while devices - reached:
            reached |= devices
            near = [moves for moves in (*self._done, *self._told) if any(d in reached for d, _ in moves)]
            devices = {d for moves in near for d, _ in moves}
        done, told = (self._about(reached, moves) for moves in (self._done, self._told))
        return bool(done) and done == told

    def _about(self, devices: set[int], all_moves: Sequence[set[tuple[int, int]]]) -> set[tuple[int, int]]:
        return {move for moves in all_moves for move in moves if move[0] in devices}


class _Truth:
    """One fault in the numbers of the plan, after all faults."""

    def __init__(self, seen: Scene, fault: Fault, faults: Sequence[Fault]) -> None:
        self.seen, self.fault = seen, fault
        self.deed = _DEEDS[fault.kind]
        later = {w for other in faults[faults.index(fault) + 1 :] for w in other.who}
        index = {name: i for i, name in enumerate(seen.names)}
        home = seen.plan.home.tolist()
        moved = ((w, seen.where.get(w, -1)) for w in fault.who if w not in later)
        self.moves = {(index[w], port) for w, port in moved if port != home[index[w]]}
        self.heard = {(d, port) for d, port in self.moves if seen.names[d] in seen.audible}
        self.ports = {seen.where[s] for s in fault.strangers}
        self.heard_strangers = [s for s in fault.strangers if s in seen.audible]

    @property
    def observable(self) -> bool:
        """True when a station of the fault was heard; of a device gone, its dark port."""
        if self.deed is Deed.GONE:
            return True
        return bool(self.heard_strangers) if self.fault.strangers else bool(self.heard)

    def matches(self, event: Event) -> bool:
        """True when the event is this fault."""
        if self.deed in _ORDERS or self.deed is Deed.REPLUGGED:
            kinds = _ORDERS if self.deed in _ORDERS else (Deed.REPLUGGED,)
            return event.deed in kinds and self._heard_of(event) == self.heard
        if event.deed is not self.deed:
            return False
        if self.deed is Deed.GONE:
            return {m.device for m in event.moves} == {d for d, _ in self.moves}
        if self.deed is Deed.COME:
            return set(event.newcomers) == self.ports
        if self.deed is Deed.REPLACED:
            return set(event.newcomers) == self.ports and {m.device for m in event.moves} == {d for d, _ in self.moves}
        return {(m.device, m.target) for m in event.moves if m.origin != m.target} == self.moves

    def longer_than_told(self, story: Sequence[Explained]) -> bool:
        """A rotation whose silent members make it look like shorter ones: all of it that was heard is told as part of
        crossed or rotated cords with a silent member, of which the report says that they may be a longer rotation."""
        if self.deed is not Deed.ROTATED:
            return False
        told: set[tuple[int, int]] = set()
        for event in (x for e in story for x in (e.event, *chain.from_iterable(e.others))):
            heard = self._heard_of(event)
            if event.deed in (Deed.CROSSED, Deed.ROTATED) and len(heard) < len(event.moves):
                told |= heard
        return self.heard <= told

    def is_half_of(self, event: Event) -> bool:
        """One device gone and another come in its place is what the report calls replaced."""
        if event.deed is not Deed.REPLACED:
            return False
        gone = self.deed is Deed.GONE and {m.device for m in event.moves} == {d for d, _ in self.moves}
        return gone or (self.deed is Deed.COME and set(event.newcomers) == self.ports)

    def _heard_of(self, event: Event) -> set[tuple[int, int]]:
        at = self.seen.heard.at
        return {(m.device, m.target) for m in event.moves if at[m.device] >= 0 and m.origin != m.target}
