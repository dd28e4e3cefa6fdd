"""Shared by all tests: in CI nothing may skip."""

from __future__ import annotations

import os
import signal
from collections.abc import Generator
from pathlib import Path

import pytest

SHARED_RECORDINGS = Path(__file__).resolve().parents[2] / "shared" / "recordings"
"""Recorded command output that lies beside a checkout on the project's own machines, never in the repository."""

# A shell that starts something in the background lets it ignore Ctrl-C, and so all that the tests start: they would
# wait for ever for commands that Ctrl-C should end.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture(scope="session")
def shared_recordings() -> Path:
    """The folder of recorded command output; skips where it is absent, as on a user's machine."""
    if not SHARED_RECORDINGS.is_dir():
        pytest.skip("../shared/recordings is not beside this checkout")
    return SHARED_RECORDINGS


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item, call: pytest.CallInfo[None]
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """With TONEOUT_NEVER_SKIP set, a skip is a failure: what the test needs was to be installed."""
    report = yield
    if report.skipped and not hasattr(report, "wasxfail") and os.environ.get("TONEOUT_NEVER_SKIP"):
        reason = str(report.longrepr)
        if "../shared/recordings" not in reason:
            report.outcome = "failed"
            report.longrepr = f"skipped where nothing may skip: {reason}"
    return report
