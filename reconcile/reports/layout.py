"""Lines of text for people: wrapped to a width in terminal cells, indented, coloured on request, never cut.

Everything passes `escape` on its way in, so no report can forget it. A word that is longer than the line stays
whole and runs over, so that an identifier can be read and copied.
"""

from __future__ import annotations

from collections.abc import Iterator

from rich.cells import cell_len

from reconcile.reports.escape import sentence, visible

_SGR = {"bold": "1", "faint": "2", "red": "31", "green": "32", "yellow": "33"}  # ECMA-48 section 8.3.117
_NARROW = 60


class Sheet:
    """Collects lines; `str(sheet)` is the text. `width` in cells; without `colour` no escape sequence at all."""

    def __init__(self, width: int = 80, *, colour: bool = False) -> None:
        self._width = max(width, 20)
        self._colour = colour
        self._lines: list[str] = []
        self._step = 1 if width < _NARROW else 2

    def __str__(self) -> str:
        return "\n".join(self._lines).strip("\n") + "\n"

    def gap(self) -> None:
        """One empty line; several in a row count as one."""
        if self._lines and self._lines[-1]:
            self._lines.append("")

    def heading(self, text: str) -> None:
        """A section begins."""
        self.gap()
        self._write(visible(text).upper(), 0, 0, "bold")
        self.gap()

    def name(self, text: str, *, depth: int = 0, style: str = "") -> None:
        """A line of identifiers: wrapped, never shortened."""
        self._write(visible(text), depth, depth + 2, style)

    def say(self, text: str, *, depth: int = 0, hanging: int = 0, style: str = "") -> None:
        """A sentence or free text: wrapped and bounded; lines after the first stand `hanging` steps further in."""
        self._write(sentence(text), depth, depth + hanging, style)

    def row(
        self, label: str, text: str, *, depth: int = 1, whole: bool = False, cells: int = 8, style: str = ""
    ) -> None:
        """A labelled sentence, its text in a column of its own behind `cells` for the label.

        `whole` is for identifiers, which are never shortened.
        """
        shown = visible(text) if whole else sentence(text)
        cells = min(cells, self._width // 2 - 8 if self._width >= _NARROW else max(self._width // 4, 8))
        indent = " " * (depth * self._step)
        pad = max(cells - cell_len(label), 1)
        first = indent + self._styled(label, "faint") + " " * pad
        following = " " * (len(indent) + cells)
        for number, line in enumerate(_wrapped(shown, self._width - len(following), cell_len(label) + pad - cells)):
            self._lines.append((following if number else first) + self._styled(line, style))

    def _write(self, text: str, depth: int, hanging: int, style: str) -> None:
        for number, line in enumerate(_wrapped(text, self._width - hanging * self._step)):
            indent = " " * ((hanging if number else depth) * self._step)
            self._lines.append(indent + self._styled(line, style))

    def _styled(self, text: str, style: str) -> str:
        codes = ";".join(_SGR[word] for word in style.split())
        return f"\x1b[{codes}m{text}\x1b[0m" if self._colour and codes and text else text


def _wrapped(text: str, cells: int, taken: int = 0) -> Iterator[str]:
    """Lines of at most `cells` cells, broken at blanks only; `taken` are gone from the first.

    Wide characters (East Asian) count two.
    """
    line, used = "", taken
    for word in text.split(" "):
        needs = cell_len(word)
        if line and used + 1 + needs > cells:
            yield line
            line, used = word, needs
        else:
            line, used = (f"{line} {word}", used + 1 + needs) if line else (word, used + needs)
    yield line
