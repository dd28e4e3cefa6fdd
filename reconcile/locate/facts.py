"""From the columns of a snapshot to numbers: who saw whom on which port, with no loop over sightings."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple, cast

import numpy as np
import pandas as pd

from collectors.names import AddressKind, address_kind, int_to_mac
from reconcile.locate.arrays import SEVERAL, UNKNOWN
from reconcile.locate.identity import rows_of
from reconcile.locate.portbook import PortBook

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy.typing as npt

    from reconcile.frames import Observed
    from reconcile.locate.arrays import Bools, Indexes, Ports

NEVER_PLACED = {
    AddressKind.VIRTUAL_GATEWAY: "a virtual gateway address (VRRP, HSRP, GLBP, CARP): it moves between ports by design",
    AddressKind.CLUSTER: "an address that several ports may share (load-balancing cluster)",
    AddressKind.GROUP: "a group address: never one station",
    AddressKind.NONE: "the all-zero address: no station",
}
# RFC 4188, dot1dTpFdbStatus: 'learned' alone says where an address was heard; 'self' is the switch's own.
_LEARNED, _SELF, _CONFIGURED = "learned", "self", ("mgmt", "other")
_NO_VLAN = 4096  # stands for a VLAN that the table does not tell; 802.1Q has 4095 at most


class Seen(NamedTuple):
    """One sighting of a station, for people. `at`: seconds after the snapshot started."""

    switch: str
    port: str
    vlan: int | None
    status: str
    at: float | None


@dataclass(slots=True)
class Facts:
    """The sightings as a matrix. Columns 0 .. S-1 are the switches themselves, the rest addresses.

    `owner[x]` is the switch that address x belongs to, or -1; `barred[x]` the reason why it is never placed, or ''.
    `twice` has, for addresses that one switch has on several ports, who has them where and in which VLAN.
    `configured` has places of addresses that no switch has learned.
    """

    observed: Observed
    book: PortBook
    port: Ports
    numbers: npt.NDArray[np.int64]
    macs: list[str]
    owner: npt.NDArray[np.int32]
    barred: dict[int, str]
    twice: dict[int, list[tuple[int, int, int]]]
    configured: dict[int, set[tuple[int, int]]]
    vlans: list[tuple[int, ...]]  # of each address
    slices: list[tuple[int, int, int]]  # switch, first and last row of its sightings
    own_clashes: list[tuple[int, int]] = field(default_factory=list)  # a has addresses of b on several ports
    echoes: list[tuple[int, int, int]] = field(default_factory=list)  # a has learned its own address x on port p

    @property
    def switches(self) -> int:
        """How many switches were asked."""
        return len(self.book.names)

    def has_legs(self, x: int) -> bool:
        """Whether an address that is on several ports of a switch is on one alone in each VLAN, as a router may be."""
        ways = {(a, vlan) for a, _, vlan in self.twice[x]}
        return len(ways) == len(set(self.twice[x])) and all(vlan != _NO_VLAN for _, vlan in ways)

    def sightings(self, mac: int) -> Iterator[Seen]:
        """All rows about one address."""
        frame = self.observed.sightings
        column = frame["mac"].to_numpy()
        for _, first, last in self.slices:
            for k in np.flatnonzero(column[first:last] == mac).tolist():
                row = frame.iloc[first + k]
                port = row["port"] if isinstance(row["port"], str) else ""
                vlan = None if row["vlan"] is pd.NA else int(row["vlan"])
                at = float(row["at"])
                yield Seen(str(row["switch"]), port, vlan, str(row["status"]), None if np.isnan(at) else at)


def gather(observed: Observed) -> Facts:
    """Reads a snapshot once, a switch at a time, to number the addresses and to note where they were seen."""
    book = PortBook.of(observed)
    frame, slices = _by_switch(observed.sightings, {name: a for a, name in enumerate(book.switches)})
    observed = _with_sightings(observed, frame)
    rows = _Rows.of(frame)
    for a, first, last in slices:
        present = np.zeros(len(rows.port_names), bool)
        present[rows.ports[first:last]] = True
        for name in rows.port_names[present].tolist():
            if name:
                book.add(a, name, True)
    width = max(book.counts(), default=1)
    port = np.zeros((len(book.names), 0), np.int8 if width < 127 else np.int16)
    facts = Facts(
        observed, book, port, np.zeros(0, np.int64), [], np.zeros(0, np.int32), {}, {}, {}, [], slices,
    )  # fmt: skip
    _fill(facts, rows)
    _own(facts)
    for x, mac in enumerate(facts.macs):
        reason = NEVER_PLACED.get(address_kind(mac))
        if reason:
            facts.barred[x] = reason
    return facts


@dataclass(slots=True)
class _Rows:
    """The columns of the sightings as plain arrays; text as codes."""

    macs: npt.NDArray[np.int64]
    ports: npt.NDArray[np.signedinteger]
    port_names: npt.NDArray[np.object_]  # by code; '' for the code -1 at the end
    status: npt.NDArray[np.signedinteger]
    states: list[str]
    vlans: pd.api.extensions.ExtensionArray

    @classmethod
    def of(cls, frame: pd.DataFrame) -> _Rows:
        port, status = (cast("pd.Categorical", frame[c].array) for c in ("port", "status"))
        names = np.array([*map(str, port.categories), ""], object)
        states = [str(s) for s in status.categories]
        return cls(frame["mac"].to_numpy(), port.codes, names, status.codes, states, frame["vlan"].array)

    def vlan(self, first: int, last: int) -> npt.NDArray[np.int32]:
        """VLANs of some rows."""
        vlan: npt.NDArray[np.int32] = self.vlans[first:last].to_numpy(dtype=np.int32, na_value=_NO_VLAN)
        return np.minimum(vlan, _NO_VLAN)  # some agents tell numbers that no VLAN has


class _Numbering:
    """Numbers addresses in the order of their appearance. A table of hashes answers at once for nearly all."""

    def __init__(self) -> None:
        self.known = np.zeros(0, np.int64)
        self._order = np.zeros(0, np.intp)  # of `known`, sorted
        self._bits = 12
        self._slots = np.zeros(1 << self._bits, np.int32)

    def of(self, macs: npt.NDArray[np.int64]) -> Indexes:
        """The numbers of addresses; those that are new get one."""
        if not len(self.known):
            self._add(macs)
        if not len(macs):
            return np.zeros(0, np.intp)
        number = self._slots[self._hash(macs)].astype(np.intp)
        rest = np.flatnonzero(self.known[number] != macs)
        if len(rest):
            asked = macs[rest]
            at, is_new = self._search(asked)
            if is_new.any():
                self._add(asked[is_new])
                at, _ = self._search(asked)
            number[rest] = at
        return number

    def _search(self, macs: npt.NDArray[np.int64]) -> tuple[Indexes, Bools]:
        """Where addresses are among the known ones, and which of them are not there."""
        at = np.searchsorted(self.known, macs, sorter=self._order)
        number = self._order[np.minimum(at, len(self._order) - 1)]
        return number, self.known[number] != macs

    def _add(self, macs: npt.NDArray[np.int64]) -> None:
        self.known = np.concatenate([self.known, np.unique(macs)])
        self._order = np.argsort(self.known)
        while (1 << self._bits) < 8 * len(self.known):
            self._bits += 1
        self._slots = np.zeros(1 << self._bits, np.int32)
        self._slots[self._hash(self.known)] = np.arange(len(self.known))

    def _hash(self, macs: npt.NDArray[np.int64]) -> Indexes:
        # Fibonacci hashing: 2^64 divided by the golden ratio (Knuth, The Art of Computer Programming 3, section 6.4)
        scattered = macs.view(np.uint64) * np.uint64(0x9E3779B97F4A7C15)
        scattered >>= np.uint64(64 - self._bits)
        return scattered.view(np.intp)


class _VlanBook:
    """The VLANs that each address was sighted in. VLAN numbers take a column each as they appear."""

    def __init__(self) -> None:
        self._column = np.full(_NO_VLAN + 1, -1, np.int16)
        self._vlans: list[int] = []
        self._seen = np.zeros((0, 4), bool)
        self._last = np.zeros(0, np.int32)  # the VLAN of each address that was noted last: nearly always its only one

    def note(self, x: Indexes, vlan: npt.NDArray[np.int32], addresses: int) -> None:
        """Address x was sighted in this VLAN, row by row; there are so many addresses by now."""
        if more := addresses - len(self._last):
            self._last = np.concatenate([self._last, np.full(more, -1, np.int32)])
            self._seen = np.vstack([self._seen, np.zeros((more, self._seen.shape[1]), bool)])
        changed = self._last[x] != vlan
        if not changed.any():
            return
        x, vlan = x[changed], vlan[changed]
        self._last[x] = vlan
        column = self._column[vlan]
        if column.min() < 0:
            for new in np.unique(vlan[column < 0]).tolist():
                self._column[new] = len(self._vlans)
                self._vlans.append(new)
            while self._seen.shape[1] < len(self._vlans):
                self._seen = np.hstack([self._seen, np.zeros_like(self._seen)])
            column = self._column[vlan]
        self._seen[x, column] = True

    def sets(self) -> list[tuple[int, ...]]:
        """One tuple per address; equal ones are one object."""
        known: dict[bytes, tuple[int, ...]] = {}
        vlans = np.array(self._vlans, np.int32)
        rows = []
        for row in self._seen[:, : len(vlans)]:
            key = row.tobytes()
            if key not in known:
                known[key] = tuple(sorted(v for v in vlans[row].tolist() if v != _NO_VLAN))
            rows.append(known[key])
        return rows


def _by_switch(frame: pd.DataFrame, place: dict[str, int]) -> tuple[pd.DataFrame, list[tuple[int, int, int]]]:
    """The sightings with the rows of each switch together, and where those begin and end."""
    switch = cast("pd.Categorical", frame["switch"].array)
    starts = np.concatenate([[0], np.flatnonzero(switch.codes[1:] != switch.codes[:-1]) + 1, [len(frame)]])
    if len(frame) and len(starts) - 1 > len(switch.categories):
        return _by_switch(frame.sort_values("switch", kind="stable", ignore_index=True), place)
    slices = []
    for first, last in zip(starts[:-1].tolist(), starts[1:].tolist(), strict=True):
        if last > first and switch.codes[first] >= 0:
            slices.append((place[str(switch.categories[switch.codes[first]])], first, last))
    return frame, slices


def _with_sightings(observed: Observed, frame: pd.DataFrame) -> Observed:
    if frame is observed.sightings:
        return observed
    return type(observed)(
        observed.switches, observed.ports, frame, observed.neighbours, observed.own_macs, observed.coverage
    )


def _fill(facts: Facts, rows: _Rows) -> None:
    """Numbers the addresses and writes every sighting into the matrix."""
    learned = np.array([s == _LEARNED for s in rows.states])
    own = np.array([s == _SELF for s in rows.states])
    configured = np.array([s in _CONFIGURED for s in rows.states])
    number_of = np.full(len(rows.port_names), UNKNOWN, facts.port.dtype)
    code_of = {name: code for code, name in enumerate(rows.port_names[:-1].tolist())}
    numbering, vlans = _Numbering(), _VlanBook()
    seen: dict[int, Ports] = {}  # by switch, as many columns as there were addresses then
    owned: list[tuple[int, Indexes]] = []
    elsewhere: dict[int, set[tuple[int, int]]] = defaultdict(set)
    for a, first, last in facts.slices:
        number_of[:] = UNKNOWN
        for name, n in facts.book.number[a].items():
            if name in code_of:
                number_of[code_of[name]] = n
        x = numbering.of(rows.macs[first:last])
        addresses = len(numbering.known)
        ports = number_of[rows.ports[first:last]]
        vlan = rows.vlan(first, last)
        vlans.note(x, vlan, addresses)
        status = rows.status[first:last]
        if not learned.all():
            owned.append((a, x[own[status]]))
            kept = configured[status] & (ports >= 0)
            for y, p in zip(x[kept].tolist(), ports[kept].tolist(), strict=True):
                elsewhere[y].add((a, p))
            keep = learned[status]
            x, ports, vlan = x[keep], ports[keep], vlan[keep]
        if (ports < 0).any():
            keep = ports >= 0
            x, ports, vlan = x[keep], ports[keep], vlan[keep]
        earlier = seen.get(a, np.zeros(0, facts.port.dtype))
        row = seen[a] = np.full(addresses, UNKNOWN, facts.port.dtype)
        row[: len(earlier)] = earlier
        row[x] = ports
        if (len(earlier) or np.count_nonzero(row >= 0) != len(x)) and (row[x] != ports).any():
            _note_several(facts, a, row, x, ports, vlan)
    _settle(facts, numbering.known, seen)
    for a, x in owned:
        facts.owner[x] = a
    facts.vlans = vlans.sets()
    unlearned = [y for y in elsewhere if not (facts.port[:, facts.switches + y] != UNKNOWN).any()]
    facts.configured = {y: elsewhere[y] for y in unlearned}


def _settle(facts: Facts, numbers: npt.NDArray[np.int64], seen: dict[int, Ports]) -> None:
    """Puts the rows of the switches, which are used up, into one matrix."""
    switches, addresses = facts.switches, len(numbers)
    facts.numbers, facts.macs = numbers, [int_to_mac(m) for m in numbers.tolist()]
    facts.owner = np.full(addresses, -1, np.int32)
    facts.port = np.full((switches, switches + addresses), UNKNOWN, facts.port.dtype)
    for a in list(seen):
        row = seen.pop(a)
        facts.port[a, switches : switches + len(row)] = row


def _note_several(facts: Facts, a: int, row: Ports, x: Indexes, ports: Ports, vlan: npt.NDArray[np.int32]) -> None:
    """One address on several ports of one switch: no witness; the rows are kept."""
    several = np.unique(x[row[x] != ports])
    for k in np.flatnonzero(np.isin(x, several)).tolist():
        facts.twice.setdefault(int(x[k]), []).append((a, int(ports[k]), int(vlan[k])))
    row[several] = SEVERAL


def _own(facts: Facts) -> None:
    """Directions between switches, from the addresses that are switches themselves."""
    place = {name: a for a, name in enumerate(facts.book.switches)}
    index = {int(m): x for x, m in enumerate(facts.numbers.tolist())}
    claimed: dict[int, set[int]] = defaultdict(set)
    for switch, number in rows_of(facts.observed.own_macs, "switch", "mac"):
        if number in index:
            claimed[index[number]].add(place[switch])
    for x, owners in claimed.items():
        facts.owner[x] = owners.pop() if len(owners) == 1 else -1
        if owners:
            facts.barred[x] = "several switches call it their own"
    towards = facts.port[:, : facts.switches]
    for x in np.flatnonzero(facts.owner >= 0).tolist():
        b = int(facts.owner[x])
        if int(facts.numbers[x]) in facts.book.management_macs:
            continue  # plugged in somewhere else than the ports that relay
        seen = facts.port[:, facts.switches + x]
        if seen[b] >= 0:
            facts.echoes.append((b, int(seen[b]), x))
        new = (seen >= 0) & (towards[:, b] == UNKNOWN)
        differs = (seen >= 0) & (towards[:, b] != UNKNOWN) & (towards[:, b] != seen)
        towards[new, b] = seen[new]
        towards[differs, b] = SEVERAL
        facts.own_clashes += [(a, b) for a in np.flatnonzero(differs).tolist() if a != b]
    towards[towards == SEVERAL] = UNKNOWN
    np.fill_diagonal(towards, UNKNOWN)
