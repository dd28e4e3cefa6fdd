"""Recordings of real switches (package snmpsim-data) trimmed to what is read, and what they must come out as."""

from __future__ import annotations

import bz2
import json
import lzma
import re
import zlib
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Any

import pytest
import snmpsim_data

from collectors.tables.mib import OBJECTS

DATA = Path(snmpsim_data.__file__).parent / "data"
TRUTH = Path(__file__).parents[2] / "fixtures" / "recordings" / "snmp" / "truth.json.xz"

LARGE = 500_000
"""Rows from which a recording takes seconds to unpack and trim."""

_COLUMNS = re.compile(
    rb"(?:%s)\." % rb"|".join(re.escape(".".join(map(str, oid)).encode()) for oid in sorted(set(OBJECTS.values())))
)


@cache
def truth() -> dict[str, Any]:
    """What each recording must come out as; see the README beside the file."""
    facts: dict[str, Any] = json.loads(lzma.decompress(TRUTH.read_bytes()))
    return facts


def path_of(name: str) -> Path:
    """The recording of that name in the installed package."""
    packed = DATA / f"{name}.snmprec.bz2"
    return packed if packed.exists() else DATA / f"{name}.snmprec"


def all_names() -> list[str]:
    """Every recording of the package."""
    return sorted(str(path.relative_to(DATA)).partition(".snmprec")[0] for path in DATA.rglob("*.snmprec*"))


def trimmed(name: str, config: pytest.Config) -> Path:
    """The recording with the columns that are read alone, in file order; kept in pytest's cache between runs."""
    assert config.cache is not None
    folder = config.cache.mkdir("recordings")
    path = folder / f"{name.replace('/', '-')}-{_stamp()}.snmprec"
    if not path.exists():
        scratch = path.with_suffix(".part")
        scratch.write_bytes(trim(path_of(name)))
        scratch.replace(path)
    return path


def trim(source: Path) -> bytes:
    """The rows of a recording that are read; one that is not, where there are none, so that it can be served."""
    with bz2.open(source) if source.suffix == ".bz2" else source.open("rb") as lines:
        kept = [_blanks_kept(line) for line in lines if _COLUMNS.match(line)]
    return b"".join(kept) or b"1.3.6.1.2.1.1.7.0|2|0\n"


def _blanks_kept(line: bytes) -> bytes:
    """The simulator strips values that end in blanks, unless they are written in hexadecimal."""
    oid, tag, value = line.rstrip(b"\r\n").split(b"|", 2)
    return b"%s|4x|%s\n" % (oid, value.hex().encode()) if tag == b"4" and value != value.strip() else line


@cache
def _stamp() -> str:
    """Changes with the columns that are read and with the package."""
    return f"{zlib.crc32(_COLUMNS.pattern + b'2' + version('snmpsim-data').encode()):08x}"
