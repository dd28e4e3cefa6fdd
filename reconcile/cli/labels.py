"""`toneout labels`: labels for cords, cables and jacks, as a PDF for the sheet that is in the printer."""

from __future__ import annotations

import re
from dataclasses import replace
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from reconcile.cli.options import SiteOption, open_site
from reconcile.cli.spare import pictured
from reconcile.cli.streams import say, show, write_whole

if TYPE_CHECKING:
    from reconcile.reports.label_stock import Stock


class For(StrEnum):
    """What the labels go onto."""

    CORDS = "cords"
    CABLES = "cables"
    JACKS = "jacks"


class Shape(StrEnum):
    """How a label is attached."""

    WRAP = "wrap"
    FLAT = "flat"


def labels(
    context: typer.Context,
    what: Annotated[
        list[str] | None,
        typer.Argument(metavar="WHAT", help="Only those of these cords, jacks, panels, switches, rooms, racks."),
    ] = None,
    kind: Annotated[For, typer.Option("--for", help="What the labels go onto; cords and cables get two.")] = For.CORDS,
    shape: Annotated[
        Shape | None, typer.Option("--shape", help="Default: wrap for cords and cables, flat for jacks.")
    ] = None,
    paper: Annotated[str, typer.Option("--paper", metavar="a4|letter|WxH", help="The sheet; sizes in mm.")] = "a4",
    label: Annotated[str, typer.Option("--label", metavar="WxH", help="One label. 46x42 wrap, 60x20 flat.")] = "",
    printed: Annotated[
        float | None, typer.Option("--printed", metavar="H", help="Height to print on; the rest is wrapped over it.")
    ] = None,
    margin: Annotated[str, typer.Option("--margin", metavar="WxH", help="At the sides, at top and bottom. 8x8.")] = "",
    gap: Annotated[str, typer.Option("--gap", metavar="WxH", help="Between labels. 2x3 wrap, 2x0 flat.")] = "",
    shift: Annotated[str, typer.Option("--shift", metavar="XxY", help="Of a printer that misses; may be -1x0.5.")] = "",
    used: Annotated[int, typer.Option("--used", min=0, help="Labels of the first sheet that are gone already.")] = 0,
    outline: Annotated[bool, typer.Option("--outline", help="Draw where to cut, for plain paper.")] = False,
    font: Annotated[Path | None, typer.Option("--font", metavar="FILE", help="A .ttf with the letters needed.")] = None,
    snapshot: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Tells where PoE is on. Default: the latest, if any.")
    ] = None,
    site: SiteOption = None,
    out: Annotated[Path | None, typer.Option("--out", metavar="FILE", help="Default: SITE/labels.pdf.")] = None,
) -> None:
    """Print labels for cords, cables and jacks.

    Both ends of each cord, with a QR code of the same text; [labels] in toneout.toml has the pattern. A sheet of
    another size is told by --label, --margin and --gap.

    Exit code 0: printed. 1: printed, and some label has a gap, a double or no room for its text.
    """
    from reconcile.parts.tags import Labelled, tags
    from reconcile.reports.labels import render
    from reconcile.reports.words import counted

    wrapped = shape is Shape.WRAP if shape else kind is not For.JACKS
    stock = _stock(wrapped, Sizes(paper, label, printed, margin, gap, shift))
    here = open_site(context, site)
    patch_map, _, picture = pictured(here, snapshot)
    found = tags(Labelled(kind.value), what or (), patch_map, here.labels, picture)
    done = render(found.tags, replace(stock, used=used, outline=outline), title=f"{here.name}: {kind}", font=font)
    target = out or here.folder / "labels.pdf"
    write_whole(target, done.pdf)
    show(f"{counted(done.labels, 'label')} on {counted(done.sheets, 'sheet')}: {target}\n")
    if picture is None:
        say("no snapshot yet: where PoE is on is not known, and no label says so (toneout collect)")
    wrong = [*found.problems, *done.remarks]
    for problem in wrong:
        say(problem)
    if wrong:
        raise typer.Exit(1)


class Sizes(NamedTuple):
    """As they were typed."""

    paper: str
    label: str
    printed: float | None
    margin: str
    gap: str
    shift: str


def _stock(wrapped: bool, sizes: Sizes) -> Stock:
    """The usual sheet with what was said otherwise. Raises UsageError."""
    from reconcile.reports import label_stock

    paper = label_stock.PAPERS.get(sizes.paper.casefold()) or _pair("--paper", sizes.paper)
    usual = label_stock.WRAPPED if wrapped else label_stock.FLAT
    label = _pair("--label", sizes.label) if sizes.label else usual.label
    whole = label[1] if not wrapped else min(usual.printed, label[1])
    return replace(
        usual,
        paper=paper,
        label=label,
        printed=whole if sizes.printed is None else sizes.printed,
        margin=_pair("--margin", sizes.margin) if sizes.margin else usual.margin,
        gap=_pair("--gap", sizes.gap) if sizes.gap else usual.gap,
        shift=_pair("--shift", sizes.shift) if sizes.shift else usual.shift,
    )


def _pair(option: str, text: str) -> tuple[float, float]:
    """`46x42`, in mm. Raises UsageError."""
    from reconcile.errors import UsageError

    found = re.fullmatch(r"\s*(-?\d{1,4}(?:\.\d+)?)\s*[x×]\s*(-?\d{1,4}(?:\.\d+)?)\s*(?:mm)?\s*", text)
    if not found:
        choices = "a4, letter or 210x297" if option == "--paper" else f"{option} 46x42"
        raise UsageError(f"{option} {text}", "is no width and height in mm", choices)
    return float(found.group(1)), float(found.group(2))
