"""What a report on a world has to say, as a file beside it: `expected.toml`."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import tomlkit


@dataclass(frozen=True, order=True)
class Found:
    """One finding, as far as it must be the same: its kind, the port (`SWITCH:PORT`), whom it is about."""

    kind: str
    port: str
    device: str = ""
    macs: tuple[str, ...] = ()
    moved_to: str = ""


@dataclass(frozen=True)
class Drift:
    """One change that nobody wrote down, and the findings that tell of it."""

    story: str
    findings: tuple[Found, ...]


def drift(story: str, *findings: Found) -> Drift:
    """A drift with its findings one after another."""
    return Drift(story, findings)


@dataclass(frozen=True)
class Expectation:
    """Everything that is expected of one world. `verdicts` counts the documented channels by verdict."""

    story: str = ""
    exit_code: int = 0
    verdicts: Mapping[str, int] = field(default_factory=dict)
    drifts: tuple[Drift, ...] = ()
    gaps: tuple[str, ...] = ()  # switches that could not be looked at, or not wholly

    @property
    def findings(self) -> list[Found]:
        """All findings, sorted."""
        return sorted(found for told in self.drifts for found in told.findings)

    def to_toml(self) -> str:
        """The text of expected.toml."""
        document = tomlkit.document()
        if self.story:
            document.add(tomlkit.comment(self.story))
        document["exit_code"] = self.exit_code
        if self.gaps:
            document["gaps"] = list(self.gaps)
        if self.verdicts:
            document["verdicts"] = dict(self.verdicts)
        drifts = tomlkit.aot()
        for told in self.drifts:
            table = tomlkit.table()
            table["story"] = told.story
            findings = tomlkit.aot()
            for found in told.findings:
                findings.append(_table(found))
            table["finding"] = findings
            drifts.append(table)
        if self.drifts:
            document["drift"] = drifts
        return tomlkit.dumps(document)


def load(path: Path) -> Expectation:
    """Reads expected.toml."""
    text = path.read_text("utf-8")
    content: dict[str, Any] = tomllib.loads(text)
    first = text.partition("\n")[0]
    return Expectation(
        story=first.removeprefix("# ") if first.startswith("#") else "",
        exit_code=content["exit_code"],
        verdicts=content.get("verdicts", {}),
        drifts=tuple(
            drift(
                told["story"], *(Found(**{**found, "macs": tuple(found.get("macs", ()))}) for found in told["finding"])
            )
            for told in content.get("drift", ())
        ),
        gaps=tuple(content.get("gaps", ())),
    )


def _table(found: Found) -> tomlkit.items.Table:
    table = tomlkit.table()
    for name, value in vars(found).items():
        if value:
            table[name] = list(value) if isinstance(value, tuple) else value
    return table
