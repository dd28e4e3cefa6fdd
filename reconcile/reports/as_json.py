"""Results for programs, with the JSON Schema that describes them (draft 2020-12)."""

from __future__ import annotations

import json
from typing import Any

from pydantic import BaseModel

from reconcile.reports.escape import json_text


def render(found: BaseModel) -> str:
    """Any result as indented JSON: complete and exact, and harmless when it is printed on a terminal."""
    return plain(found.model_dump(mode="json"))


def plain(value: Any) -> str:
    """The same for dictionaries and lists."""
    return json_text(json.dumps(value, ensure_ascii=False, indent=1)) + "\n"


def schema_of(kind: type[BaseModel]) -> dict[str, Any]:
    """The schema of what `render` writes, where every field is always present."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **kind.model_json_schema(mode="serialization"),
    }
