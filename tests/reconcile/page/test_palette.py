"""The palette by the published formulas: WCAG 2.2, success criteria 1.4.3 (text, 4.5:1) and 1.4.11 (shapes, 3:1)."""

from __future__ import annotations

import re
from importlib import resources

import pytest

STYLE = resources.files("reconcile.reports.page").joinpath("style.css").read_text("utf-8")
PAIRS = (
    ("--paper", "--ink"), ("--sheet", "--ink"), ("--paper", "--soft"), ("--sheet", "--soft"), ("--sheet", "--link"),
    ("--paper", "--link"), ("--metal", "--ink"), ("--ink", "--paper"), ("--ok", "--ok-ink"), ("--wrong", "--wrong-ink"),
    ("--silent", "--silent-ink"), ("--unchecked", "--unchecked-ink"), ("--new", "--new-ink"), ("--free", "--free-ink"),
)  # fmt: skip


def themes() -> dict[str, dict[str, str]]:
    """The variables of each theme: later ones replace what they name."""
    blocks = re.findall(r":root \{(.*?)\}", STYLE, re.DOTALL)
    light, dark, paper = (dict(re.findall(r"(--[\w-]+): (#[0-9a-f]{6})", block)) for block in blocks)
    return {"light": light, "dark": light | dark, "print": light | paper}


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour, as WCAG 2.2 defines it."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_black_on_white_is_21_to_1() -> None:
    """The example of WCAG itself."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)


@pytest.mark.parametrize("theme", ["light", "dark", "print"])
@pytest.mark.parametrize(("ground", "ink"), PAIRS)
def test_text_stands_out_from_its_ground(theme: str, ground: str, ink: str) -> None:
    colours = themes()[theme]
    assert contrast(colours[ground], colours[ink]) >= 4.5


@pytest.mark.parametrize("theme", ["light", "dark", "print"])
def test_wrong_and_ok_differ_in_lightness_so_that_colour_blind_eyes_tell_them_apart(theme: str) -> None:
    colours = themes()[theme]
    assert contrast(colours["--wrong"], colours["--ok"]) >= 3


@pytest.mark.parametrize("theme", ["light", "dark", "print"])
def test_the_focus_mark_and_outlines_stand_out(theme: str) -> None:
    colours = themes()[theme]
    for ground in ("--paper", "--sheet", "--metal"):
        assert contrast(colours[ground], colours["--focus"]) >= 3
        assert contrast(colours[ground], colours["--ink"]) >= 3
