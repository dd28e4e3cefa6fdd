"""JSON that switches print, read with distrust: any level may be missing, single, or of another type."""

from __future__ import annotations

import json
import re
from typing import Any

from collectors.platforms.contract import Unreadable

_OPENING = re.compile(r"^[ \t]*(?=[{\[])", re.MULTILINE)


def load(text: str) -> Any:
    """The JSON document in an answer; lines before and after it (warnings, a banner of a cluster member) are left out.

    Raises Unreadable.
    """
    for opening in _OPENING.finditer(text):
        try:
            document, end = json.JSONDecoder(strict=False).raw_decode(text, opening.end())
        except (ValueError, RecursionError):
            continue
        # "[WARN/lldpctl] ..." opens like a list and is none: a document ends its line.
        if isinstance(document, dict | list) and not text[end : end + 1].strip():
            return document
    raise Unreadable("the answer is not JSON, or was cut")


def table(document: Any, *path: str) -> Any:
    """What lies under `path`. Raises Unreadable where a step is missing: then it is not the table we asked for."""
    for step in path:
        document = document[0] if isinstance(document, list) and len(document) == 1 else document
        if not isinstance(document, dict) or step not in document:
            raise Unreadable(f"no {step!r} in the answer")
        document = document[step]
    return document


def dicts(found: Any) -> list[dict[str, Any]]:
    """The objects in a list; one object alone counts as a list of one, as NX-OS prints it."""
    if isinstance(found, dict):
        return [found]
    return [one for one in found if isinstance(one, dict)] if isinstance(found, list) else []


def items(found: Any) -> list[tuple[str, dict[str, Any]]]:
    """Key and object of each entry of an object of objects."""
    return [(key, one) for key, one in found.items() if isinstance(one, dict)] if isinstance(found, dict) else []


def under(found: Any, *path: str) -> Any:
    """What lies under `path`, or None."""
    for step in path:
        found = found[0] if isinstance(found, list) and len(found) == 1 else found
        found = found.get(step) if isinstance(found, dict) else None
    return found
