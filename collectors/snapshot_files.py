"""Snapshots as files: replaced atomically, refused with the field or row that is wrong.

Two forms with the same content: JSON that people can read and diff, and Parquet for sites with millions of sightings.
Writing goes by the ending of the name, reading by what is in the file.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from collectors.errors import SnapshotError
from collectors.snapshot import Snapshot
from collectors.snapshot_json import read_text, snapshot_text
from collectors.whole_files import scratch_beside

COLUMNS = ".parquet"
"""The ending of a file that is written as columns."""

MANY_ROWS = 500_000
"""Sightings from which on columns are the better form: some 30 MB of JSON, which takes half a second to read."""

_PARQUET = b"PAR1"  # the first and last four octets (Apache Parquet format, "File Format")


def ending_for(snapshot: Snapshot) -> str:
    """The ending that suits the size of a snapshot, where nobody named a file."""
    return COLUMNS if sum(len(switch.sightings) for switch in snapshot.switches) >= MANY_ROWS else ".json"


def save_snapshot(snapshot: Snapshot, path: Path) -> None:
    """Writes the file whole or not at all; an older file of that name is replaced. Raises SnapshotError."""
    target = Path(os.path.realpath(path))  # a link stays a link to the file that is replaced
    try:
        with scratch_beside(target) as scratch:
            if path.suffix.lower() == COLUMNS:
                from collectors.snapshot_parquet import write_columns  # late: pyarrow is for large sites

                write_columns(snapshot, scratch, str(path))
            else:
                with scratch.open("w", encoding="utf-8") as file:
                    file.writelines(snapshot_text(snapshot))
            with scratch.open("rb") as file:
                os.fsync(file.fileno())
            scratch.replace(target)
    except OSError as error:
        raise SnapshotError(
            str(path), f"cannot be written: {error.strerror or error}", "another folder or a free disk"
        ) from None


def load_snapshot(path: Path) -> Snapshot:
    """Reads a snapshot. Raises SnapshotError naming the file, the field or row, what is wrong and what to try."""
    try:
        with path.open("rb") as file:
            if file.read(len(_PARQUET)) != _PARQUET:
                file.seek(0)
                return read_text(file.read(), str(path))
    except FileNotFoundError:
        raise SnapshotError(str(path), "there is no such file", "toneout collect, which writes one") from None
    except OSError as error:
        raise SnapshotError(str(path), f"cannot be read: {error.strerror}", "a readable file") from None
    from collectors.snapshot_parquet import read_columns

    return read_columns(path)


def snapshot_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of the files that `load_snapshot` accepts."""
    schema = Snapshot.model_json_schema(mode="validation")
    schema["required"] = ["schema_version", *schema["required"]]
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
