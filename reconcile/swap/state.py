"""What is kept of the start of a swap beside the snapshot: the map as it was, its digest, and whether all is done."""

from __future__ import annotations

import hashlib
from datetime import datetime

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from reconcile.errors import ReconcileError
from reconcile.patchmap.model import PatchMap


class SwapState(BaseModel):
    """The patch map at the start: names and jacks are taken from it, whatever becomes of the map meanwhile."""

    model_config = ConfigDict(extra="forbid")

    schema_version: int = Field(1, ge=1, le=1)
    map_digest: str
    patch_map: PatchMap
    done: datetime | None = Field(None, description="when a check first found everything back")


def digest(patch_map: PatchMap) -> str:
    """SHA-256 of everything that the map says."""
    return hashlib.sha256(patch_map.model_dump_json().encode("utf-8", "backslashreplace")).hexdigest()


def begin(patch_map: PatchMap) -> SwapState:
    """The state at the start."""
    return SwapState(map_digest=digest(patch_map), patch_map=patch_map)


def load_state(content: bytes, where: str) -> SwapState:
    """Reads it again. Raises ReconcileError that names the file."""
    try:
        return SwapState.model_validate_json(content)
    except ValidationError as error:
        first = error.errors(include_url=False, include_context=False, include_input=False)[0]
        field = ".".join(map(str, first["loc"])) or "the whole file"
        problem = f"{field}: {first['msg']}"
        raise ReconcileError(where, problem, "toneout swap start --again, before any further work") from None
