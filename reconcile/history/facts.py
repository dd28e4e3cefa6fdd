"""One run as facts, and what of the former facts the run had no chance to see again."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import NamedTuple

from collectors.snapshot import Port, Snapshot, Table
from reconcile.findings import Finding, Verdict
from reconcile.locate.placement import Grade
from reconcile.picture import Picture
from reconcile.result import Result


class FactKind(StrEnum):
    """What the history remembers. The words stand in the file: they never change their meaning."""

    STATION = "station"  # MAC address -> SWITCH:PORT where it is attached
    PORT = "port"  # SWITCH:PORT -> link, speed in Mbit/s, administrative state
    VERDICT = "verdict"  # documented channel -> confirmed, contradicted, silent
    FINDING = "finding"  # key -> nothing: it is there
    UNLOOKED = "unlooked"  # key of a finding that is taken to stand, because nobody could look
    TOLD = "told"  # key of a finding that a report has told of
    GAP = "gap"  # switch, or switch and table -> why it could not be looked at


class Key(NamedTuple):
    """Of whom or what a fact is. A key has one value at a time."""

    kind: FactKind
    subject: str


class Fact(NamedTuple):
    """What is so. `switch` is the one whose word it is, '' for facts that are no switch's word."""

    value: str = ""
    switch: str = ""


@dataclass(frozen=True)
class Looked:
    """What one run could see, and so which former facts it may end. Silence of an unread switch ends nothing.

    A switch that is asked no more, because it left toneout.toml, is not waited for. `possible` has the ports at
    which stations could still be that were not placed at one; `heard` those that could not be placed at all.
    """

    asked: frozenset[str]
    read: Mapping[Table, frozenset[str]]
    judged: frozenset[str] = frozenset()
    possible: Mapping[str, frozenset[str]] = field(default_factory=dict)
    heard: frozenset[str] = frozenset()

    def may_end(self, key: Key, fact: Fact) -> bool:
        """True when this run would have seen the fact again if it still were so."""
        if key.kind is FactKind.STATION:
            open_still = key.subject in self.heard or fact.value in self.possible.get(key.subject, ())
            return not open_still and self._saw(fact.switch, Table.FORWARDING)
        if key.kind is FactKind.PORT:
            return self._saw(fact.switch, Table.INTERFACES)
        if key.kind is FactKind.VERDICT:
            return key.subject not in self.judged
        return True

    def saw_all(self, switches: Iterable[str]) -> bool:
        """True when each of these switches was read as far as findings rest on it."""
        return all(self._saw(s, table) for s in switches for table in (Table.INTERFACES, Table.FORWARDING))

    def _saw(self, switch: str, table: Table) -> bool:
        return switch not in self.asked or switch in self.read[table]


def looked(picture: Picture, result: Result) -> Looked:
    """What the run behind this picture could see."""
    snapshot, located = picture.snapshot, picture.located
    names = [switch.name for switch in snapshot.switches]
    return Looked(
        asked=frozenset(names) | {switch.name for switch in snapshot.failed},
        read={
            table: frozenset(name for name in names if not picture.coverage.gap(name, table))
            for table in (Table.INTERFACES, Table.FORWARDING)
        },
        judged=frozenset(v.channel for v in result.verdicts),
        possible={
            mac: frozenset(map(str, p.candidates))
            for mac, p in located.placements.items()
            if p.at is None or p.grade is Grade.AMBIGUOUS
        },
        heard=frozenset(located.unplaced),
    )


def facts_of(picture: Picture, result: Result) -> dict[Key, Fact]:
    """Everything that one run saw, findings left out: those come with `finding_facts`, when it is known which stand."""
    return {
        **{Key(FactKind.STATION, mac): fact for mac, fact in _stations(picture)},
        **{Key(FactKind.PORT, name): fact for name, fact in _ports(picture.snapshot, picture)},
        **{
            Key(FactKind.VERDICT, v.channel): Fact(v.verdict.value, v.where.switch)
            for v in result.verdicts
            if v.verdict is not Verdict.UNCHECKED
        },
        **{Key(FactKind.GAP, f"{gap.switch} {gap.table}".strip()): Fact(gap.state, gap.switch) for gap in result.gaps},
    }


def finding_facts(findings: Iterable[Finding], unlooked: Collection[str] = ()) -> dict[Key, Fact]:
    """The findings of a run, and those former ones that stand because nobody could look."""
    return {
        **{Key(FactKind.FINDING, f.key): Fact("", f.where.switch) for f in findings},
        **{Key(FactKind.FINDING, key): Fact() for key in unlooked},
        **{Key(FactKind.UNLOOKED, key): Fact() for key in unlooked},
    }


def switches_of(finding: Finding) -> set[str]:
    """The switches that have to be read before its absence means that it is gone."""
    return {finding.where.switch, finding.moved_to.switch if finding.moved_to else ""} - {""}


def _stations(picture: Picture) -> Iterator[tuple[str, Fact]]:
    for mac, placement in picture.located.placements.items():
        if placement.at is not None:
            yield mac, Fact(str(placement.at), placement.at.switch)


def _ports(snapshot: Snapshot, picture: Picture) -> Iterator[tuple[str, Fact]]:
    for switch in snapshot.switches:
        if not picture.coverage.gap(switch.name, Table.INTERFACES):
            for port in switch.ports:
                yield f"{switch.name}:{port.name}", Fact(port_words(port), switch.name)


LINK_UP = "link up"
_SPEED = re.compile(rf"{LINK_UP}, (\d{{1,9}}) Mbit/s")


def port_words(port: Port) -> str:
    """`link up, 1000 Mbit/s`; `link down, shut`: the state of a port as the history keeps it and shows it."""
    speed = f", {port.speed_mbps} Mbit/s" if port.speed_mbps and port.oper == "up" else ""
    shut = ", shut" if port.admin == "down" else ""
    return f"link {port.oper or 'not told'}{speed}{shut}"


def speed_in(words: str) -> int | None:
    """The speed in what `port_words` wrote, Mbit/s; None where there was no link or no speed."""
    found = _SPEED.match(words)
    return int(found.group(1)) if found else None
