"""One chromium per test file, driven by Playwright; every page is a file on disk, and the browser has no network."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Generator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, ConsoleMessage, Page, Playwright, sync_playwright

from reconcile.pipeline import Comparison
from reconcile.reports.page import render

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
ARGUMENTS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
QUIET = {"DBUS_SESSION_BUS_ADDRESS": "disabled:"}

Open = Callable[..., Page]


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Generator[BrowserContext, None, None]:
    """A browser with an empty profile; skips where there is none."""
    if CHROMIUM is None:
        pytest.skip("chromium is not installed (Debian: apt-get install chromium)")
    with sync_playwright() as playwright:
        context = launched(playwright, tmp_path_factory.mktemp("profile"))
        context.set_default_timeout(20_000)
        yield context
        context.close()


def launched(playwright: Playwright, profile: Path) -> BrowserContext:
    """The system's chromium with that profile and without a network."""
    return playwright.chromium.launch_persistent_context(
        profile,
        executable_path=CHROMIUM,
        args=ARGUMENTS,
        offline=True,
        viewport={"width": 1280, "height": 900},
        env={**os.environ, **QUIET},
    )


class Watch:
    """What a page must never do: complain, or ask for anything beside itself."""

    def __init__(self, page: Page, file: Path) -> None:
        self.complaints: list[str] = []
        self.requests: list[str] = []
        page.on("console", self._said)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("request", lambda request: self.requests.append(request.url.partition("#")[0]))
        self.own = file.as_uri()

    def _said(self, message: ConsoleMessage) -> None:
        self.complaints.append(f"{message.type}: {message.text}")

    def check(self) -> None:
        """Fails when the page did any of it."""
        assert self.complaints == []
        assert set(self.requests) <= {self.own}


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Callable[[Comparison], Path]:
    """Writes the page of a comparison."""

    def write(comparison: Comparison) -> Path:
        file = tmp_path_factory.mktemp("site") / "page.html"
        file.write_text(render(comparison), "utf-8")
        return file

    return write


@pytest.fixture
def visit(browser: BrowserContext) -> Generator[Open, None, None]:
    """Opens a page of its own, and looks afterwards that it neither complained nor asked for anything."""
    opened: list[tuple[Page, Watch]] = []

    def open_(file: Path, view: str = "", *, width: int = 1280, height: int = 900, dark: bool = False) -> Page:
        page = browser.new_page()
        watch = Watch(page, file)
        opened.append((page, watch))
        page.set_viewport_size({"width": width, "height": height})
        page.emulate_media(color_scheme="dark" if dark else "light")
        page.goto(file.as_uri() + (f"#{view}" if view else ""))
        return page

    yield open_
    for page, watch in opened:
        page.close()
        watch.check()
