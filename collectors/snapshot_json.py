"""Snapshots as JSON that people can read and diff, and what is wrong with a text that is none, by its field.

The form: `schema_version` always, fields at their default left out, one row of a table to a line.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any

from pydantic import ValidationError

from collectors.errors import SnapshotError
from collectors.snapshot import SCHEMA_VERSION, Snapshot

_ROW_DEPTH = 4
"""Nesting at which a value is one row of one table of one switch, and stays on one line."""

_UNSEEN = re.compile("[\x7f-\x9f\u00ad\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb]")
"""Characters that JSON lets through bare and that turn a terminal or an editor around (CWE-150)."""

COLLECT_AGAIN = "collect again, or give the file that `toneout collect` wrote"


def snapshot_text(snapshot: Snapshot) -> Iterator[str]:
    """The text of a snapshot, piece by piece."""
    fields = {"schema_version": SCHEMA_VERSION, **snapshot.model_dump(mode="json", exclude_defaults=True)}
    for piece in _pieces(fields, 0):
        yield _UNSEEN.sub(lambda found: f"\\u{ord(found.group()):04x}", piece)
    yield "\n"


def read_text(content: bytes, file: str) -> Snapshot:
    """The snapshot that a text is. Raises SnapshotError naming `file`, the field, what is wrong and what to try."""
    content = content.removeprefix(b"\xef\xbb\xbf")
    try:
        snapshot = Snapshot.model_validate_json(content)
    except ValidationError as error:
        raise _explained(file, content, error) from None
    if "schema_version" not in snapshot.model_fields_set:
        raise SnapshotError(file, "schema_version is missing: not a snapshot", COLLECT_AGAIN)
    return snapshot


def _pieces(value: Any, depth: int) -> Iterator[str]:
    """JSON text: containers above rows are spread over indented lines, a row is one line."""
    if depth >= _ROW_DEPTH or not value or not isinstance(value, dict | list):
        yield json.dumps(value, ensure_ascii=False)
        return
    named = isinstance(value, dict)
    gap = "\n" + " " * (depth + 1)
    yield "{" if named else "["
    for number, item in enumerate(value):
        yield ("," if number else "") + gap
        if named:
            yield json.dumps(item, ensure_ascii=False) + ": "
        yield from _pieces(value[item] if named else item, depth + 1)
    yield "\n" + " " * depth + ("}" if named else "]")


def _explained(file: str, content: bytes, error: ValidationError) -> SnapshotError:
    """What is wrong with a refused file, from the outside in: its text, its version, its fields."""
    try:
        fields = json.loads(content)
    except RecursionError:
        return SnapshotError(file, "is nested too deeply for a snapshot", COLLECT_AGAIN)
    except ValueError as broken:
        return SnapshotError(file, _broken_text(content, broken), COLLECT_AGAIN)
    version = fields.get("schema_version") if isinstance(fields, dict) else None
    if isinstance(version, int) and version > SCHEMA_VERSION:
        problem = f"schema_version: {version} is later than {SCHEMA_VERSION}, the latest that this program reads"
        return SnapshotError(file, problem, "a newer toneout: pip install --upgrade toneout")
    faults = error.errors(include_url=False, include_context=False, include_input=False)
    more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
    first = faults[0]
    return SnapshotError(file, f"{_field(first['loc'])}: {first['msg']}{more}", COLLECT_AGAIN)


def _broken_text(content: bytes, error: ValueError) -> str:
    if not content.strip():
        return "is empty"
    if not isinstance(error, json.JSONDecodeError):
        return "is not JSON in UTF-8"
    if error.pos >= len(error.doc.rstrip()) or error.msg.startswith("Unterminated string"):
        return f"ends in the middle, at line {error.doc.count(chr(10)) + 1}: the writing or copying of it was cut off"
    return f"is not JSON: {error.msg} (line {error.lineno}, column {error.colno})"


def _field(place: tuple[int | str, ...]) -> str:
    """`("switches", 2, "ports", 0, "name")` as `switches[2].ports[0].name`."""
    text = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in place)
    return text.lstrip(".") or "the whole file"
