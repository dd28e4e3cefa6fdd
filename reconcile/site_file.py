"""What toneout.toml may hold, and its reading: every fault at once, with line, key and what was expected."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from typing import Any, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator

from collectors.access import SnmpAccess, SshAccess, SwitchAccess
from reconcile.findings import Kind
from reconcile.limits.values import LIMIT_NAMES, Override
from reconcile.patchmap.columns import TABLES, column_names, column_of
from reconcile.patchmap.messages import fault, quoted, suggestion
from reconcile.patchmap.model import Fault, Origin, fold
from reconcile.toml_lines import line_of

SITE_FILE = "toneout.toml"
MAX_SITE_NAME = 200

CARRYING_KINDS = ("phone", "access point", "hypervisor", "unmanaged switch", "hub")
NOTHING_WORDS = ("-", "--", "\N{EN DASH}", "\N{EM DASH}", "?", "n/a", "none", "spare", "free", "unused", "empty")


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, hide_input_in_errors=True)


class SiteTable(_Strict):
    """The table [site]."""

    name: str = Field(min_length=1, max_length=MAX_SITE_NAME, description="the name of the site, for reports")


class MapTable(_Strict):
    """The table [map]: which form the patch map has, and where it stands."""

    form: Literal["tables", "workbook", "schedule"] = "tables"
    path: str = Field("map", min_length=1, description="folder, .xlsx or .csv, relative to the site folder")
    sheet: str = Field("", description="sheet of a flat schedule in a workbook; the first one when empty")
    encoding: str = Field("", description="encoding of CSV files; found out when empty")
    tables: dict[str, str] = Field(default_factory=dict, description="table -> the user's own file or sheet name")
    columns: dict[str, Any] = Field(default_factory=dict, description="column -> the user's own heading")

    @field_validator("encoding")
    @classmethod
    def _known_encoding(cls, name: str) -> str:
        try:
            "a".encode(name or "utf-8").decode(name or "utf-8")
        except (LookupError, ValueError):
            raise ValueError("it should be the name of an encoding, for example utf-8 or windows-1250") from None
        return name


class Settings(_Strict):
    """The table [settings]."""

    at_once: int = Field(32, ge=1, le=1000, description="switches asked at the same time")
    deadline: float = Field(900.0, gt=0, le=86_400, description="seconds that one collection may take")
    carrying_kinds: tuple[str, ...] = Field(
        CARRYING_KINDS, description="kinds of device with others behind them, where the map does not say"
    )
    nothing_words: tuple[str, ...] = Field(
        NOTHING_WORDS, description="words that people write into a cell to say that nothing is there"
    )


class CordsTable(_Strict):
    """The table [cords]: how cords are measured and bought. Lengths in metres; the defaults are common practice."""

    stock_m: tuple[float, ...] = Field(
        (0.5, 1.0, 1.5, 2.0, 3.0, 5.0, 7.0, 10.0, 15.0, 20.0), min_length=1, description="lengths that can be bought"
    )
    to_side_m: float = Field(0.25, ge=0, le=5, description="from a jack to the vertical cable guide beside the rack")
    around_m: float = Field(1.6, ge=0, le=10, description="from the front of a rack to its rear")
    straight_m: float = Field(0.25, ge=0, le=5, description="across, between units that are next to one another")
    slack_m: float = Field(0.15, ge=0, le=5, description="for bends and for moving one position, both ends together")
    at_device_m: float = Field(3.0, gt=0, le=100, description="cord from the outlet to a device")
    gauge_awg: int = Field(26, ge=10, le=40, description="conductor size of what is bought")
    spare_percent: float = Field(10.0, ge=0, le=1000, description="bought beyond need, at least one of a kind")
    colours: dict[str, str] = Field(
        default_factory=dict, description='kind of device -> colour; "link" between switches, "other" for the rest'
    )


class NightlyTable(_Strict):
    """The table [nightly]: what `toneout nightly` tells, and to whom."""

    min_runs: int = Field(1, ge=1, le=1000, description="runs that have to see a finding before it is told")
    min_runs_of: dict[str, int] = Field(default_factory=dict, description='the same by kind: "dead port" = 3')
    page: str = Field("page.html", description="where the page is written, within the site folder; empty: it is not")
    notify: tuple[str, ...] = Field((), description="where the secret addresses to notify are: file:, env:, keyring:")

    @field_validator("min_runs_of")
    @classmethod
    def _known_kinds(cls, runs: dict[str, int]) -> dict[str, int]:
        for kind, number in runs.items():
            if kind not in list(Kind):
                raise ValueError(f"it should name kinds of finding: {suggestion(kind, tuple(Kind), 'dead port')}")
            if not 1 <= number <= 1000:
                raise ValueError(f'it should be 1 to 1000 runs for "{kind}"')
        return runs

    @field_validator("notify")
    @classmethod
    def _references(cls, notify: tuple[str, ...]) -> tuple[str, ...]:
        for reference in notify:
            if reference.partition(":")[0] not in ("file", "env", "keyring"):
                raise ValueError("it should say where each address is kept: file:PATH, env:NAME or keyring:NAME/USER")
        return notify


class LabelsTable(_Strict):
    """The table [labels]: what is written on both ends of cords and cables. `{here}` is the end that bears it."""

    cord: str = Field("{here} > {there}", min_length=1, max_length=200)
    cable: str = Field("{here} > {there}", min_length=1, max_length=200)

    @field_validator("cord", "cable")
    @classmethod
    def _known_fields(cls, pattern: str) -> str:
        fields = re.findall(r"\{([^{}]*)\}", pattern)
        left = re.sub(r"\{[^{}]*\}", "", pattern)
        if not set(fields) <= {"here", "there", "label", "room"} or "{" in left or "}" in left:
            raise ValueError("it should use no other fields than {here}, {there}, {label} and {room}")
        return pattern


KEYS: dict[str, tuple[str, ...]] = {
    "": ("site", "map", "settings", "limits", "cords", "labels", "nightly", "snmp", "ssh", "switch"),
    "site": tuple(SiteTable.model_fields),
    "map": tuple(MapTable.model_fields),
    "map.tables": TABLES,
    "settings": tuple(Settings.model_fields),
    "limits": LIMIT_NAMES,
    "cords": tuple(CordsTable.model_fields),
    "labels": tuple(LabelsTable.model_fields),
    "nightly": tuple(NightlyTable.model_fields),
    "snmp": tuple(SnmpAccess.model_fields),
    "ssh": tuple(SshAccess.model_fields),
    "switch": tuple(SwitchAccess.model_fields),
    "switch.snmp": tuple(SnmpAccess.model_fields),
    "switch.ssh": tuple(SshAccess.model_fields),
}
"""The keys of each table, so that a misspelt one is answered with its neighbour."""

_WAYS: tuple[tuple[str, type[BaseModel]], ...] = (("snmp", SnmpAccess), ("ssh", SshAccess))
_SECRET_KEYS = ("notify", "community", "secret", "auth_secret", "privacy_secret")
_MISSING = {
    "site": '[site] with name = "..."',
    "site.name": 'name = "..." in [site]',
    "switch.name": 'name = "SW-1"',
    "switch.address": 'address = "192.0.2.11"',
    "ssh.platform": 'platform = "linux"',
    "ssh.user": 'user = "..."',
}
_Path = tuple[str | int, ...]
_Model = TypeVar("_Model", bound=BaseModel)


class SiteFile:
    """The content of one toneout.toml, as far as it fits; `faults` is empty when all of it does."""

    def __init__(self, text: str) -> None:
        self._text = text
        self.faults: list[Fault] = []
        data = self._parse()
        self._unknown(data, (), KEYS[""])
        self.site = self._model(SiteTable, data.get("site", {}), ("site",))
        self.map = self._model(MapTable, data.get("map", {}), ("map",))
        self.settings = self._model(Settings, data.get("settings", {}), ("settings",))
        self.cords = self._model(CordsTable, data.get("cords", {}), ("cords",))
        self.labels = self._model(LabelsTable, data.get("labels", {}), ("labels",))
        self.nightly = self._model(NightlyTable, data.get("nightly", {}), ("nightly",))
        self.limits = dict(self._limits(data.get("limits", {})))
        self.origins: dict[str, Origin] = {}
        self.accesses = tuple(self._switches(data))
        self.columns = self._columns(self.map) if self.map else {}
        self.faults.sort(key=lambda found: found.origin.row or 0)

    def _parse(self) -> dict[str, Any]:
        try:
            return tomllib.loads(self._text)
        except tomllib.TOMLDecodeError as error:
            why, _, at = str(error).partition(" (at ")
            line = at.removeprefix("line ").partition(",")[0]
            origin = Origin(SITE_FILE, row=int(line) if line.isdecimal() else None)
            self.faults.append(fault("not-toml", origin, why=why))
        except RecursionError:
            self.faults.append(fault("not-toml", Origin(SITE_FILE), why="tables are nested too deeply"))
        return {"site": {"name": "unknown"}}

    def _say(self, code: str, at: _Path, **words: object) -> None:
        key = ".".join(str(part + 1) if isinstance(part, int) else part for part in at)
        found = fault(code, Origin(SITE_FILE, row=line_of(self._text, at)), key[:200], **words)
        if found not in self.faults:
            self.faults.append(found)

    def _unknown(self, data: Iterable[str], at: _Path, known: Iterable[str]) -> None:
        keys = tuple(known)
        for key in data:
            if key not in keys:
                self._say("unknown-key", (*at, key), expected=suggestion(key, keys, "use one of " + ", ".join(keys)))

    def _model(self, model: type[_Model], data: object, at: _Path) -> _Model | None:
        """Validates one table. Its faults are placed below `at`."""
        try:
            return model.model_validate(data)
        except ValidationError as error:
            for one in error.errors(include_url=False, include_context=False):
                self._translate(one["type"], one["msg"], (*at, *one["loc"]), _value(data, one["loc"]))
            return None

    def _translate(self, kind: str, text: str, at: _Path, value: object) -> None:
        names = [part for part in at if isinstance(part, str)]
        if kind == "extra_forbidden":
            known = KEYS.get(".".join(names[:-1]), ())
            self._say("unknown-key", at, expected=suggestion(names[-1], known, "use one of " + ", ".join(known)))
        elif kind == "missing":
            expected = _MISSING.get(".".join(names), _MISSING.get(".".join(names[-2:]), names[-1]))
            self._say("missing-key", at, expected=expected)
        else:
            text = text.removeprefix("Value error, ").replace("Input should", "it should")
            scalar = isinstance(value, (str, int, float)) and names[-1] not in _SECRET_KEYS
            self._say("wrong-value", at, value=f"{quoted(str(value))}: " if scalar else "", expected=text)

    def _switches(self, data: Mapping[str, Any]) -> Iterable[SwitchAccess]:
        common = {way: self._common(way, model, data.get(way)) for way, model in _WAYS}
        tables = data.get("switch", [])
        if not isinstance(tables, list):
            self._say("wrong-value", ("switch",), value="", expected="it should be [[switch]], twice bracketed")
            return
        for index, own in enumerate(tables):
            access = self._switch(own, common, ("switch", index))
            if access and self._first(access.name, ("switch", index)):
                yield access

    def _common(self, way: str, model: type[BaseModel], data: object) -> Mapping[str, Any] | None:
        """A site-wide [snmp] or [ssh]: what is wrong in it is said once, here, and then left out."""
        if data is None:
            return None
        if not isinstance(data, dict):
            self._say("wrong-value", (way,), value="", expected=f"it should be a table: [{way}]")
            return None
        try:
            model.model_validate(data)
        except ValidationError as error:
            wrong = {one["loc"][0]: one for one in error.errors() if one["loc"] and one["type"] != "missing"}
            for key, one in wrong.items():
                self._translate(one["type"], one["msg"], (way, key), data.get(str(key)))
            return {key: value for key, value in data.items() if key not in wrong}
        return data

    def _switch(self, own: Any, common: Mapping[str, Mapping[str, Any] | None], at: _Path) -> SwitchAccess | None:
        if not isinstance(own, dict):
            self._say("wrong-value", at, value="", expected="it should be a table: [[switch]]")
            return None
        merged = dict(own)
        for way, model in _WAYS:
            given = own.get(way)
            if given is False:
                del merged[way]
            elif isinstance(given, dict):
                merged[way] = {**(common[way] or {}), **given}
            elif given is None and common[way] is not None and _complete(model, common[way]):
                merged[way] = common[way]
        return self._model(SwitchAccess, merged, at)

    def _first(self, name: str, at: _Path) -> bool:
        origin = Origin(SITE_FILE, row=line_of(self._text, (*at, "name")))
        other = self.origins.setdefault(fold(name), origin)
        if other is not origin:
            self._say("switch-twice", (*at, "name"), name=quoted(name), other=f"line {other.row}")
        return other is origin

    def _limits(self, data: object) -> Iterable[tuple[str, Override]]:
        """[limits."<name>"]: the site's own values, each with its reason."""
        if not isinstance(data, dict):
            self._say("wrong-value", ("limits",), value="", expected='it should be tables: [limits."<name>"]')
            return
        self._unknown(data, ("limits",), LIMIT_NAMES)
        for name, own in data.items():
            found = self._model(Override, own, ("limits", name)) if name in LIMIT_NAMES else None
            if found:
                yield name, found

    def _columns(self, source: MapTable) -> dict[str, dict[str, tuple[str, ...]]]:
        """[map.columns]: flat for a schedule, a table per table for the other forms."""
        self._unknown(source.tables, ("map", "tables"), TABLES)
        if source.form == "schedule":
            return {"schedule": self._headings(source.columns, ("map", "columns"), "schedule")}
        self._unknown(source.columns, ("map", "columns"), TABLES)
        return {
            table: self._headings(headings, ("map", "columns", table), table)
            for table, headings in source.columns.items()
            if table in TABLES
        }

    def _headings(self, data: object, at: _Path, table: str) -> dict[str, tuple[str, ...]]:
        if not isinstance(data, dict):
            self._say("wrong-value", at, value="", expected=f"it should be a table: [{'.'.join(map(str, at))}]")
            return {}
        self._unknown([key for key in data if not column_of(table, key)], at, column_names(table))
        found: dict[str, tuple[str, ...]] = {}
        for key, heading in data.items():
            headings = heading if isinstance(heading, list) else [heading]
            if all(isinstance(one, str) and one.strip() for one in headings) and headings:
                found[column_of(table, key) or key] = tuple(headings)
            else:
                self._say("wrong-value", (*at, key), value="", expected="it should be a heading in quotation marks")
        return found


def _complete(model: type[BaseModel], data: Mapping[str, Any] | None) -> bool:
    """Whether a site-wide table says enough to be used as it stands."""
    try:
        model.model_validate(data)
    except ValidationError:
        return False
    return True


def _value(data: object, path: Iterable[str | int]) -> object:
    for part in path:
        try:
            data = data[part]  # type: ignore[index]  # a path that pydantic gave for this very data
        except (LookupError, TypeError):
            return None
    return data
