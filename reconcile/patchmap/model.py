"""The patch map as one model, whatever form it was read from.

Every jack has two sides: the installed side takes at most one fixed cable (ISO/IEC 11801 permanent link; a tie
cable joins two panels), the patching side at most one cord. Names match without regard to case and outer blanks.
"""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum
from functools import lru_cache
from typing import Literal, NamedTuple

from pydantic import BaseModel, ConfigDict, Field


class Origin(NamedTuple):
    """Where something was read: `cords.csv row 7`, sheet and row of a workbook, `toneout.toml line 4`.

    Rows count as a spreadsheet counts them, from 1, headings and empty rows included.
    """

    file: str = ""
    sheet: str = ""
    row: int | None = None

    def __str__(self) -> str:
        sheet = f" sheet {self.sheet}" if self.sheet else ""
        unit = "line" if self.file.endswith(".toml") else "row"
        row = f" {unit} {self.row}" if self.row is not None else ""
        return f"{self.file}{sheet}{row}"


class Severity(StrEnum):
    """How much a fault of the record matters."""

    ERROR = "error"  # the row cannot be used
    WARNING = "warning"  # usable, and probably not what was meant


class Fault(NamedTuple):
    """One thing wrong with the record: where it stands, what is wrong, what to do.

    `column` is the heading as the user wrote it (a key, for toneout.toml); `code` the stable short name of the
    message in `messages.py`.
    """

    origin: Origin
    column: str
    problem: str
    hint: str = ""
    severity: Severity = Severity.ERROR
    code: str = ""

    def __str__(self) -> str:
        unit = "key" if self.origin.file.endswith(".toml") else "column"
        column = f", {unit} {self.column}" if self.column else ""
        hint = f"; {self.hint}" if self.hint else ""
        return f"{self.origin}{column}: {self.problem}{hint}"


class End(NamedTuple):
    """One place where something is plugged in or terminated, written `NAME:POSITION`.

    `name` is a switch, panel, outlet or device; `position` a port name, a jack number, or empty for a device with
    one socket.
    """

    name: str
    position: str = ""

    @property
    def key(self) -> tuple[str, str]:
        """Equal for ends that people would call the same."""
        return fold(self.name), fold(self.position)

    def __str__(self) -> str:
        return f"{self.name}:{self.position}" if self.position else self.name


@lru_cache(maxsize=1 << 16)  # a map asks for the same few thousand names millions of times
def fold(name: str) -> str:
    """The form in which names are compared: no outer blanks, no case, one blank between words."""
    return " ".join(name.casefold().split())


class _Row(BaseModel):
    """One row of a table. `heading` gives the user's own heading of a field, for faults."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    origin: Origin = Field(default_factory=Origin)
    extra: dict[str, str] = Field(default_factory=dict, description="columns that are the user's own, kept as read")
    headings: dict[str, str] = Field(
        default_factory=dict, repr=False, description="field -> heading of the column that it was read from"
    )
    note: str = ""

    def heading(self, field: str) -> str:
        """The column that a field was read from, as the user calls it."""
        return self.headings.get(field, field)


class Switch(_Row):
    """Active equipment with ports. `ports` may be empty: then any port name is taken as existing."""

    name: str
    model: str = ""
    room: str = ""
    rack: str = ""
    unit: str = ""
    ports: tuple[str, ...] = ()


class Panel(_Row):
    """A patch panel with its jack positions in order."""

    name: str
    jacks: tuple[str, ...]
    room: str = ""
    rack: str = ""
    unit: str = ""
    face: Literal["front", "rear"] = "front"
    category: str = ""
    shield: str = ""
    crossed: bool | None = None


class Outlet(_Row):
    """A telecommunications outlet plate in a room, with one or more jacks."""

    name: str
    room: str = ""
    jacks: tuple[str, ...] = ("1",)
    category: str = ""
    shield: str = ""
    crossed: bool | None = None


class FixedCable(_Row):
    """An installed cable between two jacks; `tie` when both are panels.

    `category` is that of copper or the grade of fibre; `crossed`, of fibre, that the two positions change places.
    """

    label: str
    a: End
    b: End
    category: str = ""
    shield: str = ""
    gauge_awg: int | None = None
    length_m: float | None = Field(None, gt=0)
    temperature_c: float | None = None
    crossed: bool | None = None


class Cord(_Row):
    """A patch or equipment cord; either end can be re-plugged by hand."""

    label: str
    a: End
    b: End
    category: str = ""
    shield: str = ""
    gauge_awg: int | None = None
    length_m: float | None = Field(None, gt=0)
    colour: str = ""
    crossed: bool | None = None


class Device(_Row):
    """What is documented at the far end.

    `at` is where it is plugged in when no cord of its own is documented. `carries` says that other stations behind
    it are expected (phone with a PC, access point, hypervisor, unmanaged switch).
    """

    name: str
    kind: str = ""
    macs: tuple[str, ...] = ()
    carries: bool = False
    at: End | None = None
    room: str = ""
    owner: str = ""


class PatchMap(BaseModel):
    """Everything documented about one site, in the order in which it was read."""

    model_config = ConfigDict(extra="forbid")

    site: str = ""
    form: Literal["tables", "workbook", "schedule"] = "tables"
    switches: list[Switch] = Field(default_factory=list)
    panels: list[Panel] = Field(default_factory=list)
    outlets: list[Outlet] = Field(default_factory=list)
    fixed_cables: list[FixedCable] = Field(default_factory=list)
    cords: list[Cord] = Field(default_factory=list)
    devices: list[Device] = Field(default_factory=list)

    def rows(self) -> Iterator[Switch | Panel | Outlet | FixedCable | Cord | Device]:
        """Every row of every table."""
        yield from self.switches
        yield from self.panels
        yield from self.outlets
        yield from self.fixed_cables
        yield from self.cords
        yield from self.devices

    def holders(self) -> Iterator[Switch | Panel | Outlet | Device]:
        """Every row that ends can name: what has ports, jacks or sockets."""
        yield from self.switches
        yield from self.panels
        yield from self.outlets
        yield from self.devices

    def cables(self) -> Iterator[FixedCable | Cord]:
        """Every row that joins two ends."""
        yield from self.fixed_cables
        yield from self.cords
