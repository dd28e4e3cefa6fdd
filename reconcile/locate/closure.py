"""In which direction every switch sees every other one: theorems of trees, applied until nothing new follows.

On a loop-free topology let `port[a, x]` be the port on which switch a sees station or switch x. Each rule is sound
however many entries are missing:

* **Own address.** b's address on a's port p is the direction itself (collected before this room).
* **Same wire.** Two ports that show each other by LLDP have no bridge between them: everybody else sees both
  switches on one port.
* **Between.** Where a sees b and x on different ports, a lies between them, so b sees x where it sees a.
* **Pivot.** The same with a third switch: c sees a and b on different ports, so each of the two sees the other
  where it sees c.
* **Three hosts** (Lowekamp, O'Hallaron and Gross, SIGCOMM 2001; from memory): ports p of a and q of b face each
  other only if every shared x is seen on p by a or on q by b. Counting who says otherwise excludes pairs of ports.

Field data are dirty: a conclusion needs `margin` stations with different homes for it, and fewer than that against
it. A switch whose direction is settled counts for `margin` stations: it is a fact, not a witness.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from reconcile.locate.arrays import UNKNOWN

if TYPE_CHECKING:
    from reconcile.locate.arrays import Bools, Counts, Indexes, Ports, Tables

_SAMPLE = 2048  # widely heard witnesses among which voters on the main port of a switch are looked for
_VOTERS = 24  # witnesses asked about one pair at first; all of them where these do not decide
_BULK = 8  # switches with unsettled pairs from which on these are tried all at once
_BULK_VOTERS = 12  # witnesses on the main port of each switch, and as many on others, that are heard then
_IN_VAIN = 100  # switches in a row that settle nothing from which on the rest is not tried
_QUESTIONS = 10_000  # pairs that are asked about one by one, at most; of very many switches fewer: a few seconds' work
_QUESTIONS_TIMES_SWITCHES = 3_000_000
_HEARD = 30_000_000  # witnesses heard in all, where pairs are asked about by all witnesses
_COMMON = 256  # widely heard witnesses that are asked about every switch that nothing places
_PATIENCE = 12  # pairs in a row that a switch may fail on before it is taken for one that nothing places


@dataclass(slots=True)
class Closure:
    """The rules at work on one set of tables. `clashes` are pairs of switches that no pair of ports satisfies."""

    tables: Tables
    margin: int
    clashes: set[tuple[int, int]] = field(default_factory=set)
    _voters: list[tuple[int, Indexes, Indexes]] = field(default_factory=list)
    _faced: dict[int, tuple[Bools, Bools]] = field(default_factory=dict)
    _questions: int = field(init=False)
    _hearings: int = field(init=False)

    def __post_init__(self) -> None:
        self._questions = min(_QUESTIONS, _QUESTIONS_TIMES_SWITCHES // self.tables.switches)
        self._hearings = _HEARD // max(1, len(self.tables.witnesses))

    def run(self) -> None:
        """Completes the directions as far as the rules reach, cheap rules first."""
        self._voters = [self._choose_voters(a) for a in range(self.tables.switches)]
        self.spread()
        self._in_bulk()
        while self._divide():
            self.spread()

    def _unsettled(self) -> Bools:
        missing: Bools = self.tables.towards < 0
        missing |= missing.T
        np.fill_diagonal(missing, False)
        return missing

    def spread(self) -> None:
        """The rules that need one known direction, to their fixpoint."""
        towards = self.tables.towards
        before = -1
        while before != (known := int(np.count_nonzero(towards >= 0))) and known < towards.size - len(towards):
            before = known
            self._same_wire()
            self._between()
            self._pivot_all()

    def _same_wire(self) -> None:
        towards = self.tables.towards
        for a, _, b, _ in self.tables.adjacent:
            one, other = towards[:, a].copy(), towards[:, b].copy()
            third = np.ones(len(towards), bool)
            third[[a, b]] = False
            towards[third & (one < 0), a] = other[third & (one < 0)]
            towards[third & (other < 0), b] = one[third & (other < 0)]

    def _choose_voters(self, a: int) -> tuple[int, Indexes, Indexes]:
        """The port with most witnesses, some witnesses on it, and some on others, spread over these."""
        witnesses = self.tables.witnesses
        seen = self.tables.port[a, witnesses]
        main = int(np.bincount(seen.astype(np.intp) + 2, minlength=3)[2:].argmax())
        on = np.flatnonzero(seen[:_SAMPLE] == main)[:_VOTERS]
        off = np.flatnonzero((seen >= 0) & (seen != main))
        off = off[: max(_VOTERS, len(off) // 2)]
        return main, witnesses[on], witnesses[off[:: len(off) // _VOTERS + 1]]

    def _between(self) -> None:
        """b sees a where it sees the nodes that a has on other ports than b: asks some of these."""
        towards, port = self.tables.towards, self.tables.port
        wanted = (towards >= 0) & (towards.T < 0)
        np.fill_diagonal(wanted, False)
        for a in np.flatnonzero(wanted.any(1)).tolist():
            main, on, off = self._voters[a]
            others = np.flatnonzero(wanted[a])
            facing = towards[a, others]
            for b, voters in ((others[facing != main], on), (others[facing == main], off)):
                if len(b) and len(voters):
                    towards[b, a] = _elected(port[np.ix_(b, voters)], self._weight(voters), self.margin)

    def _pivot_all(self) -> None:
        """c sees i and j on different ports: i sees j where it sees c."""
        towards = self.tables.towards
        missing: Bools = towards < 0
        np.fill_diagonal(missing, False)
        sees, is_seen = np.any(towards >= 0, axis=1), np.any(towards >= 0, axis=0)
        i, j = np.nonzero(missing & sees[:, None] & is_seen[None, :])
        in_vain = 0
        for c in _central_first(towards):
            if not len(i) or in_vain > _IN_VAIN:
                return
            row, column = towards[c], towards[:, c]
            ri, found = row[i], column[i]
            rj = row[j]
            ok = (ri != rj) & (np.minimum(ri, rj) >= 0) & (found >= 0)
            in_vain += 1
            if ok.any():
                in_vain = 0
                towards[i[ok], j[ok]] = found[ok]
                i, j = i[~ok], j[~ok]

    def _in_bulk(self) -> None:
        """Settles all pairs at once of which each faces the other with the port that most witnesses are behind.

        Of the witnesses that a and b share, some are on both main ports (which excludes every pair of other ports),
        some behind another port of b (which excludes main port of b against another of a), and the reverse.
        """
        rows = np.flatnonzero(self._unsettled().any(1))
        if len(rows) < _BULK:
            return
        voters = [self._voters[a] for a in rows.tolist()]
        some = [v[:_BULK_VOTERS] for _, on, off in voters for v in (on, off)]
        columns = np.unique(np.concatenate(some))
        seen = self.tables.port[np.ix_(rows, columns)]
        weight = self._weight(columns).astype(np.float32)
        main = np.array([m for m, _, _ in voters], seen.dtype)
        on = (seen == main[:, None]).astype(np.float32)
        off = ((seen >= 0) & (seen != main[:, None])).astype(np.float32)
        both, mixed, against = (on * weight) @ on.T, (on * weight) @ off.T, (off * weight) @ off.T
        enough = np.minimum(both, np.minimum(mixed, mixed.T)) >= self.margin
        facing = enough & (against < self.margin)
        np.fill_diagonal(facing, False)
        towards = self.tables.towards
        i, j = np.nonzero(facing)
        a, b = rows[i], rows[j]
        fill = towards[a, b] < 0
        towards[a[fill], b[fill]] = main[i[fill]]

    def _divide(self) -> bool:
        """Asks all witnesses about pairs that are left; each answer settles what the two lie between."""
        towards = self.tables.towards
        pairs = self._unsettled()
        if not pairs.any():
            return False
        learned = False
        gain = -np.argsort(np.argsort(_central_first(towards)))
        while (counts := pairs.sum(1)).any() and self._questions > 0:
            c = int(np.where(counts > 0, gain, -len(gain)).argmax())
            failures = 0
            others = np.flatnonzero(pairs[c])
            pairs[c] = pairs[:, c] = False
            for b in others.tolist():
                found = self._relate(c, b)
                learned |= found
                failures = 0 if found else failures + 1
                if failures >= _PATIENCE:
                    break
            row, column = towards[c], towards[:, c]
            i, k = np.nonzero(pairs[:, others])
            j = others[k]
            ok = (row[i] >= 0) & (row[j] >= 0) & (row[i] != row[j])
            i, j = i[ok], j[ok]
            for x, y in ((i, j), (j, i)):
                fill = (towards[x, y] < 0) & (column[x] >= 0)
                towards[x[fill], y[fill]] = column[x[fill]]
            done = (towards[i, j] >= 0) & (towards[j, i] >= 0)
            pairs[i[done], j[done]] = pairs[j[done], i[done]] = False
        return learned

    def _relate(self, a: int, b: int) -> bool:
        """Settles one pair where the witnesses leave one port; true when something was learned.

        A few witnesses that each of the two sees on different ports decide nearly always; else all are heard.
        """
        towards = self.tables.towards
        learned = False
        self._questions -= 1
        for columns in (self.voters(a, b), self.tables.witnesses):
            if columns is self.tables.witnesses:
                self._hearings -= 1
            mine, theirs = self.facing(a, b, columns)
            for here, there, ports in ((a, b, mine), (b, a, theirs)):
                if towards[here, there] < 0 and len(ports) == 1:
                    towards[here, there] = ports[0]
                    learned = True
            if not len(mine):
                self.clashes.add((min(a, b), max(a, b)))
            if (len(mine) <= 1 and len(theirs) <= 1) or self._hearings <= 0:
                break
        return learned

    def voters(self, a: int, b: int) -> Indexes:
        """A few witnesses that each of the two sees on different ports."""
        (_, *of_a), (_, *of_b) = self._voters[a], self._voters[b]
        return np.unique(np.concatenate([*of_a, *of_b]))

    def _weight(self, columns: Indexes) -> Counts:
        return np.where(columns < self.tables.switches, self.margin, 1).astype(np.int32)

    def facing(self, a: int, b: int, columns: Indexes) -> tuple[Indexes, Indexes]:
        """The ports of a that b may be behind, and the ports of b that a may be behind."""
        towards, ports = self.tables.towards, self.tables.ports
        row, column = self.tables.port[a, columns], self.tables.port[b, columns]
        both = (row >= 0) & (column >= 0)
        cells = row[both].astype(np.int32) * ports[b] + column[both]
        weight = self._weight(columns[both])
        together = np.bincount(cells, weight, ports[a] * ports[b]).reshape(ports[a], ports[b])
        against = weight.sum() - together.sum(1)[:, None] - together.sum(0)[None, :] + together
        is_open = self.tables.is_open
        possible = (against < self.margin) & is_open[a, : ports[a], None] & is_open[b, None, : ports[b]]
        if towards[a, b] >= 0:
            possible[np.arange(ports[a]) != towards[a, b]] = False
        if towards[b, a] >= 0:
            possible[:, np.arange(ports[b]) != towards[b, a]] = False
        return np.flatnonzero(possible.any(1)), np.flatnonzero(possible.any(0))

    def facing_all(self, g: int) -> tuple[Bools, Bools]:
        """[flat port]: g may be behind it; [switch, port of g]: that switch may be behind it.

        What `facing` says of g and every other switch, by witnesses that g sees and some that many see; asked once.
        """
        if g not in self._faced:
            self._faced[g] = self._face_all(g)
        return self._faced[g]

    def _face_all(self, g: int) -> tuple[Bools, Bools]:
        tables, width = self.tables, self.tables.ports[g]
        there, here = np.zeros(len(tables.owner), bool), np.zeros((tables.switches, width), bool)
        open_pair = (tables.towards[g] < 0) | (tables.towards[:, g] < 0)
        others = np.flatnonzero(open_pair)
        _, on, off = self._voters[g]
        common = tables.witnesses[:: len(tables.witnesses) // _COMMON + 1]
        columns = np.unique(np.concatenate([on, off, common]))
        columns = columns[tables.port[g, columns] >= 0]
        mine, weight = tables.port[g, columns].astype(np.intp), self._weight(columns)
        base = np.concatenate([[0], np.cumsum([tables.ports[a] for a in others.tolist()])]).astype(np.intp)
        seen = tables.port[np.ix_(others, columns)]
        k, x = np.nonzero(seen >= 0)
        cells = (base[k] + seen[k, x]) * width + mine[x]
        # some hundreds of witnesses, three to a switch: narrow numbers do, and there are many cells
        together = np.bincount(cells, weight[x], base[-1] * width).reshape(-1, width).astype(np.int16)
        by_mine = np.add.reduceat(together, base[:-1], axis=0)
        owner = np.repeat(np.arange(len(others)), np.diff(base))
        against = together - by_mine[owner]
        against += (by_mine.sum(1, dtype=np.int16)[owner] - together.sum(1, dtype=np.int16))[:, None]
        flat = np.flatnonzero(open_pair[tables.owner])
        possible = (against < self.margin) & tables.is_open[g, :width]
        possible &= tables.flattened(tables.is_open)[flat][:, None]
        there[flat] = possible.any(1)
        here[others] = np.logical_or.reduceat(possible, base[:-1], axis=0)
        return there, here


def _central_first(towards: Ports) -> Indexes:
    """Switches that tell many others apart come first."""
    apart = np.zeros(len(towards))
    for a, row in enumerate(towards):
        share = np.bincount(row[row >= 0], minlength=1) / len(towards)
        apart[a] = share.sum() ** 2 - (share**2).sum()
    return np.argsort(-apart, kind="stable")


def _elected(votes: Ports, weight: Counts, margin: int) -> Ports:
    """Per row the port that voters of `margin` or more weight name while less than that names others; else unknown."""
    known = votes >= 0
    first = votes[np.arange(len(votes)), known.argmax(1)]
    same = (votes == first[:, None]) @ weight
    total = known @ weight
    elected = np.where((first >= 0) & (same >= margin) & (total == same), first, UNKNOWN).astype(votes.dtype)
    for k in np.flatnonzero(total > same).tolist():
        tally = np.bincount(votes[k][known[k]], weight[known[k]])
        best = int(tally.argmax())
        if tally[best] >= margin and total[k] - tally[best] < margin:
            elected[k] = best
    return elected
