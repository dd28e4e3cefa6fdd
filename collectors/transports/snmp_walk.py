"""Reads columns of tables: several columns to a request, whatever order the agent's rows come in.

Agents repeat themselves, jump about, cut answers short and never end; a walk takes every row once and stops when
an OID comes a second time, so it always ends.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from collectors.errors import NoAnswer, Refused, SwitchError
from collectors.snapshot import TableState
from collectors.transports import snmp_ber as ber
from collectors.transports.snmp import MAX_COLUMNS, OutOfTime, SnmpSession
from collectors.transports.snmp_ber import Binding, Oid, Pdu, Value, arcs, oid_octets, value_of

Index = tuple[int, ...]
Column = Mapping[Index, Value]

_TOO_BIG, _NO_SUCH_NAME, _GEN_ERR, _NO_ACCESS, _AUTHORIZATION = 1, 2, 5, 6, 16
_STATUS_WORDS = {
    _TOO_BIG: "tooBig", _NO_SUCH_NAME: "noSuchName", _GEN_ERR: "genErr", _NO_ACCESS: "noAccess",
    13: "resourceUnavailable", _AUTHORIZATION: "authorizationError",
}  # fmt: skip

REFUSALS = (_NO_ACCESS, _AUTHORIZATION)
"""Error-status of a switch that does not let us read something."""

_SHY_WIDTH = 4
"""Columns asked for at once of an agent that is alive and says nothing to more."""

MAX_TABLE_BINDINGS = 400_000
"""Values taken from one table at most: two columns of 200,000 stations."""


@dataclass
class Walk:
    """What came of reading some columns: the rows, in the order of the columns asked, and how it ended."""

    columns: list[Column]
    state: TableState = TableState.READ
    reason: str = ""
    disorder: int = 0
    """Rows of the first column whose OID is not above the one before."""


@dataclass
class _Cursor:
    """Where the reading of one column stands."""

    prefix: bytes
    at: bytes
    rows: dict[bytes, tuple[int, bytes]] = field(default_factory=dict)
    open: bool = True

    def take(self, bindings: list[Binding]) -> str:
        """Takes the rows of this column; returns what is wrong with them, if anything."""
        rows, prefix, skip = self.rows, self.prefix, len(self.prefix)
        for name, tag, content in bindings:
            if tag >= ber.FIRST_EXCEPTION or not name.startswith(prefix):
                self.open = False
                return ""
            index = name[skip:]
            if index in rows:
                self.open = False
                return f"the switch repeats itself after {len(rows)} rows"
            rows[index] = (tag, content)
            self.at = name
        return ""


class Walker:
    """Walks one set of columns; their rows need not be the same ones."""

    def __init__(self, session: SnmpSession, columns: Sequence[Oid], context: str = "") -> None:
        prefixes = [oid_octets(column) for column in columns]
        self._cursors = [_Cursor(prefix, prefix) for prefix in prefixes]
        self._session = session
        self._context = context
        self._width = MAX_COLUMNS
        self._rows = session.repetitions
        self._state = TableState.READ
        self._reason = ""

    async def walk(self) -> Walk:
        """Reads to the end, or as far as it goes. Never raises for what a switch does."""
        try:
            while asked := self._next_columns():
                if stop := self._session.exhausted or self._too_long():
                    self._end(TableState.CUT_SHORT if self._taken else TableState.TIMED_OUT, stop)
                    break
                try:
                    await self._round(asked)
                except NoAnswer:
                    if len(asked) <= _SHY_WIDTH or self._session.time_left <= 0 or not await self._session.alive():
                        raise
                    self._session.most_columns = _SHY_WIDTH
        except OutOfTime as late:
            self._end(TableState.CUT_SHORT if self._taken else TableState.TIMED_OUT, late.problem)
        except Refused as refusal:
            self._end(TableState.REFUSED, f"the switch {refusal.problem}")
        except SwitchError as error:
            self._end(TableState.TIMED_OUT, f"{error.problem}, after {self._taken} values")
        columns = self._decoded()
        return Walk(columns, self._state, self._reason, _steps_back(columns[0]) if columns else 0)

    def _next_columns(self) -> list[_Cursor]:
        open_ = [cursor for cursor in self._cursors if cursor.open]
        return open_[: min(self._width, self._session.most_columns)]

    async def _round(self, asked: list[_Cursor]) -> None:
        names = [cursor.at for cursor in asked]
        if self._session.version == "1":
            answer = await self._session.ask(ber.GET_NEXT, names, context=self._context)
        else:
            rows = min(self._rows, max(1, self._session.most_bindings // len(names)))
            answer = await self._session.ask(ber.GET_BULK, names, rows, self._context)
        if answer.status:
            self._refused(answer, asked)
        elif not answer.bindings:
            self._narrow(asked, "the switch answered without a single row")
        else:
            if len(answer.bindings) < len(asked):  # not even one row fits: fewer columns from now on
                self._width = len(answer.bindings)
            for number, cursor in enumerate(asked[: len(answer.bindings)]):
                if wrong := cursor.take(answer.bindings[number :: len(asked)]):
                    self._end(TableState.CUT_SHORT, wrong)

    def _refused(self, answer: Pdu, asked: list[_Cursor]) -> None:
        """An error-status: ask for less where that may help, else close the column that it names."""
        status = answer.status
        word = _STATUS_WORDS.get(status, f"error-status {status}")
        if status == _TOO_BIG and self._rows > 1:
            self._rows //= 2
        elif status == _NO_SUCH_NAME and 1 <= answer.position <= len(asked):
            asked[answer.position - 1].open = False  # version 1: the end of the MIB view
        elif status in REFUSALS:
            self._close(asked, TableState.REFUSED, f"the switch refused: {word}")
        elif 1 <= answer.position <= len(asked) and status != _TOO_BIG:
            self._close([asked[answer.position - 1]], TableState.CUT_SHORT, f"the switch answered {word}")
        else:
            self._narrow(asked, f"the switch answered {word}")

    def _narrow(self, asked: list[_Cursor], reason: str) -> None:
        """Fewer columns at once; a column that fails alone is given up."""
        if len(asked) > 1:
            self._width = max(1, len(asked) // 2)
        elif self._session.version == "1" and reason.endswith(_STATUS_WORDS[_NO_SUCH_NAME]):
            asked[0].open = False
        else:
            self._close(asked, TableState.CUT_SHORT, reason)

    def _close(self, cursors: list[_Cursor], state: TableState, reason: str) -> None:
        for cursor in cursors:
            cursor.open = False
        self._end(state, reason)

    def _end(self, state: TableState, reason: str) -> None:
        if self._state is TableState.READ:
            self._state, self._reason = state, reason

    @property
    def _taken(self) -> int:
        return sum(len(cursor.rows) for cursor in self._cursors)

    def _too_long(self) -> str:
        return f"stopped after {self._taken} values of one table" if self._taken > MAX_TABLE_BINDINGS else ""

    def _decoded(self) -> list[Column]:
        """Rows by index; columns of one table share their indexes, so each is read once."""
        known: dict[bytes, Index] = {}
        columns: list[Column] = []
        for cursor in self._cursors:
            column: dict[Index, Value] = {}
            for raw, (tag, content) in cursor.rows.items():
                index = known.get(raw)
                if index is None:
                    index = known[raw] = arcs(raw)
                column[index] = value_of(tag, content)
            columns.append(column)
            cursor.rows = {}  # a campus's tables are large enough not to be held twice
        return columns


def _steps_back(column: Column) -> int:
    indexes = list(column)
    return sum(later <= earlier for earlier, later in pairwise(indexes))
