"""How long the command line takes, as ratios in one run: `python -m tests.bench.bench_cli`, or pytest -m bench -s -n 0.

Both sides are processes, run in turn so that a busy machine slows them alike, and the fastest of each counts: what
is slower was disturbed.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

import pytest

pytestmark = pytest.mark.bench

TONEOUT = str(Path(sys.executable).with_name("toneout"))
ROUNDS = 9
HELP_AT_MOST = 2.5
"""Times `import typer`: what the command line's own library costs anyone."""
RECONCILE_AT_MOST = 3.0
"""Times `import pandas`: the heaviest library that a reconciliation cannot do without."""


def test_help_costs_little_more_than_the_library_that_prints_it() -> None:
    with tempfile.TemporaryDirectory() as folder:
        ratio = _ratio("toneout --help", [TONEOUT, "--help"], "import typer", Path(folder))
    assert ratio <= HELP_AT_MOST


def test_a_reconciliation_of_the_demo_costs_little_more_than_loading_pandas() -> None:
    with tempfile.TemporaryDirectory() as folder:
        site = Path(folder) / "saltmarsh"
        subprocess.run([TONEOUT, "--quiet", "demo", site], check=True, stdout=subprocess.DEVNULL)
        command = [TONEOUT, "reconcile", "--snapshot", "snapshots/latest.json"]
        ratio = _ratio("toneout reconcile --snapshot", command, "import pandas", site)
    assert ratio <= RECONCILE_AT_MOST


def _ratio(name: str, command: Sequence[str], statement: str, cwd: Path) -> float:
    """Prints and gives how many times longer `command` takes than a Python that only runs `statement`."""
    yardstick = [sys.executable, "-c", statement]
    _seconds(command, cwd), _seconds(yardstick, cwd)  # byte code and disk cache
    ours, theirs = zip(*((_seconds(command, cwd), _seconds(yardstick, cwd)) for _ in range(ROUNDS)), strict=True)
    ratio = min(ours) / min(theirs)
    print(f"\n{name}: {min(ours):.3f} s, `{statement}`: {min(theirs):.3f} s, ratio {ratio:.2f}")
    return ratio


def _seconds(command: Sequence[str], cwd: Path) -> float:
    began = time.perf_counter()
    done = subprocess.run(command, cwd=cwd, stdout=subprocess.DEVNULL, env={**os.environ, "COLUMNS": "80"}, check=False)
    assert done.returncode in (0, 1)  # 1 is drift, which the demo has
    return time.perf_counter() - began


if __name__ == "__main__":
    test_help_costs_little_more_than_the_library_that_prints_it()
    test_a_reconciliation_of_the_demo_costs_little_more_than_loading_pandas()
