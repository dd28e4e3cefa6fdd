"""Findings accepted until a date: `waivers.toml` in the site folder, kept by hand or by `toneout waive`.

It is text in the folder that is in git, so that git says who accepted what, and when.
"""

from __future__ import annotations

import difflib
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from collectors.whole_files import replace_file
from reconcile.errors import SiteError, UsageError
from reconcile.result import Result, WaivedFinding

WAIVERS_FILE = "waivers.toml"
_HEAD = "Findings accepted until a date (that day included). `toneout waive KEY --until DATE --reason TEXT` adds one."
_KEYS = ("key", "until", "reason", "about")


@dataclass(frozen=True, slots=True)
class Waiver:
    """One accepted finding. `about` is for readers of the file: what the finding was when it was accepted."""

    key: str
    until: date
    reason: str
    about: str = ""


def read_waivers(folder: Path) -> tuple[Waiver, ...]:
    """All waivers, those that have run out too. Raises SiteError that names the entry."""
    path = folder / WAIVERS_FILE
    tables = _document(path).get("waiver", [])
    if not isinstance(tables, list):
        raise SiteError(str(path), "waiver is not a list of tables", "write [[waiver]], twice bracketed")
    return tuple(_waiver(path, number, table) for number, table in enumerate(tables, 1))


def add_waiver(folder: Path, waiver: Waiver) -> Path:
    """Writes one into the file, in the place of a former one for the same finding. Comments stay."""
    path = folder / WAIVERS_FILE
    read_waivers(folder)  # a file with a fault is for a person to mend first
    document = _document(path)
    if not path.exists():
        document.add(tomlkit.comment(_HEAD))
        document.add(tomlkit.nl())
    tables = document.setdefault("waiver", tomlkit.aot())
    table = next((table for table in tables if table["key"] == waiver.key), None)
    if table is None:
        table = tomlkit.table()
        tables.append(table)
    table["key"], table["until"], table["reason"] = waiver.key, waiver.until, waiver.reason
    if waiver.about:
        table["about"] = waiver.about
    replace_file(path, tomlkit.dumps(document).encode())
    return path


def remove_waiver(folder: Path, text: str) -> str:
    """Takes the one of this key, or of the only key that begins so, out of the file, and gives its key.

    Raises UsageError with the nearest when there is none.
    """
    path = folder / WAIVERS_FILE
    keys = [waiver.key for waiver in read_waivers(folder)]
    key = one_key(text, list(dict.fromkeys(keys)), f"{path.name} has no waiver for it")
    document = _document(path)
    tables = document["waiver"]
    for at in reversed([at for at, known in enumerate(keys) if known == key]):
        del tables[at]
    replace_file(path, tomlkit.dumps(document).encode())
    return key


def apply_waivers(result: Result, waivers: Iterable[Waiver], *, unseen: Collection[str] | None = None) -> Result:
    """Takes accepted findings out of a result, and says what to do about waivers that have had their time.

    A waiver counts on every day up to its last, by the day the snapshot was taken. `unseen` are findings that
    nobody could look for: their waivers are still wanted. Where they are not known, a gap keeps every waiver.
    """
    today = result.taken.astimezone().date()
    listed = tuple(waivers)
    valid = {waiver.key: waiver for waiver in listed if waiver.until >= today}
    accepted = [
        WaivedFinding(finding=f, until=valid[f.key].until, reason=valid[f.key].reason)
        for f in result.findings
        if f.key in valid
    ]
    there = {f.key for f in result.findings} | set(unseen or ())
    notes = [_ran_out(w) for w in listed if w.until < today and w.key in there]
    if unseen is not None or not result.gaps:
        notes += [_for_nothing(w) for w in listed if w.key not in there]
    return result.without({w.finding.key for w in accepted}).model_copy(
        update={"waived": [*result.waived, *accepted], "notes": [*result.notes, *notes]}
    )


def _ran_out(waiver: Waiver) -> str:
    return f"the waiver for {waiver.key} ran out on {waiver.until}; it was: {waiver.reason}"


def _for_nothing(waiver: Waiver) -> str:
    return f"the waiver for {waiver.key} can go, its finding has gone: toneout waive {waiver.key} --remove"


def one_key(text: str, known: Sequence[str], problem: str) -> str:
    """The known key that this is, or the only one that begins so. Raises UsageError with `problem` or the choice."""
    word = text.strip()
    if word in known:
        return word
    starting = [key for key in known if word and key.startswith(word)]
    if len(starting) > 1:
        raise UsageError(text, f"{len(starting)} keys begin so", " or ".join(starting[:4]))
    if not starting:
        raise UsageError(text, problem, nearest(word, known))
    return starting[0]


def nearest(key: str, known: Sequence[str]) -> str:
    """The known keys that look most like this one, for an error message."""
    close = difflib.get_close_matches(key, known, n=3, cutoff=0.5)
    return " or ".join(close or list(known)[:3]) or "toneout reconcile lists the keys of findings"


def _waiver(path: Path, number: int, table: Any) -> Waiver:
    where = f"{path} waiver {number}"
    if not isinstance(table, dict):
        raise SiteError(where, "is not a table", "write [[waiver]], twice bracketed")
    for name in table:
        if name not in _KEYS:
            raise SiteError(where, f"{name} is not known", "use key, until, reason and about")
    for name in ("key", "reason", "about"):
        value = table.get(name, "" if name == "about" else None)
        if not isinstance(value, str) or not (value.strip() or name == "about"):
            raise SiteError(where, f"{name} is missing or no text", f'{name} = "..."')
    until = table.get("until")
    if not isinstance(until, date) or isinstance(until, datetime):
        raise SiteError(where, "until is missing or no date", "until = 2027-03-31, without quotation marks")
    return Waiver(str(table["key"]), date.fromisoformat(str(until)), str(table["reason"]), str(table.get("about", "")))


def _document(path: Path) -> tomlkit.TOMLDocument:
    try:
        return tomlkit.parse(path.read_text("utf-8-sig"))
    except FileNotFoundError:
        return tomlkit.document()
    except (TOMLKitError, UnicodeDecodeError) as error:
        raise SiteError(str(path), f"is not TOML: {error}", "mend it, or take it out of git again") from None
