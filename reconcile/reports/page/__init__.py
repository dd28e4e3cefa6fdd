"""The page to look at beside the rack: one self-contained HTML file that asks nothing of any network.

The trade's own paper is its model: a title block, panel schedules, faceplate labels. The Content-Security-Policy lets
the browser load nothing and run only the one script whose hash it names (W3C CSP Level 3, hash sources).
"""

from __future__ import annotations

import base64
import hashlib
from importlib import resources

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from reconcile.cautions import PATCHING
from reconcile.pipeline import Comparison
from reconcile.reports.page.data import page_of
from reconcile.reports.page.model import Page, Past, as_script_json
from reconcile.reports.page.words import opened
from reconcile.reports.words import counted

__all__ = ["Page", "Past", "page_of", "render", "render_page"]

STEPS_SHOWN, CHIPS_SHOWN = 6, 4
"""Hand movements, and differences, of one cause that are shown at once; the rest is a touch away."""


def render(comparison: Comparison, past: Past | None = None) -> str:
    """The page of one comparison. `past` is what is known of earlier nights, if anything."""
    return render_page(page_of(comparison, past))


def render_page(page: Page) -> str:
    """The page as one HTML document. Text is escaped by the template; our own style, script and JSON are not text."""
    style, script = _ours("style.css"), _script()
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    return environment.from_string(_ours("template.html")).render(
        page=page,
        headline=_headline(page),
        cautions=[opened(caution) for caution in PATCHING],
        counted=counted,
        opened=opened,
        steps_shown=STEPS_SHOWN,
        chips_shown=CHIPS_SHOWN,
        style=Markup(style),  # a file of this package
        script=Markup(script),  # a file of this package
        data=Markup(as_script_json(page)),  # has no `<`, `>` or `&`
        style_hash=_hash(style),
        script_hash=_hash(script),
    )


def _headline(page: Page) -> str:
    wrong = len(page.findings) - len(page.accepted)
    none = "none seen" if page.gaps else "none"
    told = f"{wrong}, by {counted(len(page.causes), 'cause')}" if wrong else none
    return f"{told}; {len(page.accepted)} accepted" if page.accepted else told


def _hash(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _script() -> str:
    """The parts of the script in the order of their names: each uses only what stands before it, or runs later."""
    parts = resources.files(__package__).joinpath("script").iterdir()
    named = sorted((part for part in parts if part.name.endswith(".js")), key=lambda part: part.name)
    return "\n".join(part.read_text("utf-8") for part in named)


def _ours(name: str) -> str:
    return resources.files(__package__).joinpath(name).read_text("utf-8")
