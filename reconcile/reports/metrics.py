"""One nightly run as numbers for a monitoring system: the Prometheus text exposition format, version 0.0.4.

For the textfile collector of the node exporter. A run that fails leaves the file of the run before, so an alert on
`time() - toneout_run_timestamp_seconds` tells of runs that no longer come about.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from reconcile.findings import Kind, Severity, Verdict
from reconcile.history.night import Night
from reconcile.result import Result


class _Family(NamedTuple):
    """One gauge with its samples: labels beside the site, and the value."""

    name: str
    help: str
    samples: Sequence[tuple[dict[str, str], float]]


def render(night: Night, result: Result) -> str:
    """The text of the file. Every kind, severity and verdict is always there, with 0 where there is none."""
    return "".join(line for family in _families(night, result) for line in _lines(family, night.site))


def _families(night: Night, result: Result) -> Iterator[_Family]:
    yield _one("run_timestamp_seconds", "When the snapshot of the last run was taken.", night.taken.timestamp())
    failed = night.switches_asked - night.switches_answered
    yield _Family(
        "switches", "Switches that were asked, by what came of it.",
        [({"state": "answered"}, night.switches_answered), ({"state": "failed"}, failed)],
    )  # fmt: skip
    yield _one("stations", "Addresses seen on the network.", result.stations_seen)
    yield _one("gaps", "Switches and tables that could not be read.", len(result.gaps))
    kinds = [(k, s) for k in Kind for s in Severity]
    yield _Family(
        "findings", "Differences between map and network that stand, by kind and severity; accepted ones left out.",
        [({"kind": k, "severity": s}, sum((f.kind, f.severity) == (k, s) for f in result.findings)) for k, s in kinds],
    )  # fmt: skip
    lists: list[tuple[str, Sequence[object]]] = [
        ("new", night.new), ("still", night.still), ("gone", night.gone),
        ("flapping", night.flapping), ("waiting", night.waiting), ("accepted", night.waived),
    ]  # fmt: skip
    yield _Family(
        "changes", "Findings of the last run, by what the night before knew of them.",
        [({"state": state}, len(found)) for state, found in lists],
    )  # fmt: skip
    yield _Family(
        "channels", "Documented channels, by verdict.",
        [({"verdict": verdict}, result.count(verdict)) for verdict in Verdict],
    )  # fmt: skip


def _one(name: str, text: str, value: float) -> _Family:
    return _Family(name, text, [({}, value)])


def _lines(family: _Family, site: str) -> Iterable[str]:
    name = f"toneout_{family.name}"
    yield f"# HELP {name} {family.help}\n# TYPE {name} gauge\n"
    for labels, value in family.samples:
        told = ",".join(f'{label}="{_quoted(text)}"' for label, text in ({"site": site} | labels).items())
        yield f"{name}{{{told}}} {value!r}\n"


def _quoted(text: str) -> str:
    """The format knows three escapes; a lone surrogate cannot be written at all."""
    plain = text.encode("utf-8", "replace").decode()
    return plain.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
