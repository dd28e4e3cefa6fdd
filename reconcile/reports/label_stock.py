"""Sheets of labels: how many labels stand on one, and where. All lengths in mm, counted from the upper left corner."""

from __future__ import annotations

from dataclasses import dataclass

from reconcile.errors import UsageError

PAPERS: dict[str, tuple[float, float]] = {
    "a4": (210.0, 297.0),
    "letter": (215.9, 279.4),
}
"""Width and height: ISO 216, and 8.5 x 11 inches (ANSI/ASME Y14.1 size A)."""

LARGEST = 2000.0
"""No sheet is larger, and no number that is none passes."""

PAD = 1.0
"""Between the edge of a label and its print."""


@dataclass(frozen=True, slots=True)
class Stock:
    """One sheet of labels; margins are alike on both sides. `printed` is the height of what is printed of a label.

    `columns` and `rows` count the labels of one sheet; `used` is how many of the first sheet are gone already.
    """

    paper: tuple[float, float] = PAPERS["a4"]
    label: tuple[float, float] = (60.0, 20.0)
    printed: float = 20.0
    margin: tuple[float, float] = (8.0, 8.0)  # left and right, top and bottom
    gap: tuple[float, float] = (2.0, 0.0)
    shift: tuple[float, float] = (0.0, 0.0)  # of a printer that does not hit the sheet
    used: int = 0
    outline: bool = False

    @property
    def columns(self) -> int:
        """Labels side by side."""
        return _fitting(self.paper[0] - 2 * self.margin[0], self.label[0], self.gap[0])

    @property
    def rows(self) -> int:
        """Labels one below the other."""
        return _fitting(self.paper[1] - 2 * self.margin[1], self.label[1], self.gap[1])

    def corner(self, number: int) -> tuple[int, float, float]:
        """Page, and the upper left corner in mm from the left and from the top, of one label."""
        page, place = divmod(number + self.used, self.columns * self.rows)
        row, column = divmod(place, self.columns)
        left = self.margin[0] + column * (self.label[0] + self.gap[0]) + self.shift[0]
        top = self.margin[1] + row * (self.label[1] + self.gap[1]) + self.shift[1]
        return page, left, top

    def check(self) -> None:
        """Raises UsageError when no label can be printed on it."""
        sizes = (*self.paper, *self.label, self.printed)
        spaces = (*self.margin, *self.gap, self.used)
        if not (all(0 < size <= LARGEST for size in sizes) and all(0 <= space <= 1e6 for space in spaces)):
            raise UsageError("the label sheet", "has a size that no sheet has", "sizes in mm, such as --label 46x42")
        if self.columns < 1 or self.rows < 1:
            width, height = self.label
            raise UsageError(
                "the label sheet", f"has no room for a label of {width:g} x {height:g} mm", "--paper, --label"
            )
        if self.printed > self.label[1]:
            raise UsageError("the label sheet", "prints more of a label than there is", "a smaller --printed")
        if self.printed < 2 * PAD + 4 or self.label[0] < 2 * PAD + 8:
            raise UsageError("the label sheet", "leaves less than 8 x 4 mm for the text", "larger labels")


def _fitting(room: float, size: float, gap: float) -> int:
    return int((room + gap + 1e-6) // (size + gap)) if size + gap > 0 else 0


FLAT = Stock()
"""Usual labels for panels and outlets."""

WRAPPED = Stock(label=(46.0, 42.0), printed=18.0, gap=(2.0, 3.0))
"""Usual labels for cords: 18 mm of print and 24 mm to wrap over it, once around a cord of up to 7 mm."""
