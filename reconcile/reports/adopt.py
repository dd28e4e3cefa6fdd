"""`toneout adopt` for people and programs: the changes in words, then line by line in the user's own files."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from reconcile.adopt.adoption import Adoption
from reconcile.adopt.wish import Plan
from reconcile.findings import Finding
from reconcile.reports.escape import visible
from reconcile.reports.layout import Sheet
from reconcile.reports.words import at_time, counted, place_words

_STYLES = {"+++": "1", "---": "1", "@@": "2", "+": "32", "-": "31"}


def render(found: Adoption, *, width: int = 80, colour: bool = False) -> str:
    """What would be written, and what it does to the comparison."""
    sheet = Sheet(width, colour=colour)
    sheet.name(found.site or "This site", style="bold")
    sheet.say(f"The map follows what the switches saw on {at_time(found.taken)}.")
    for plan in found.plans:
        _plan(sheet, plan)
    sheet.gap()
    end = Sheet(width, colour=colour)
    _outcome(end, found)
    return f"{sheet}\n{''.join(_diff(found.diff, colour=colour))}\n{end}"


def _plan(sheet: Sheet, plan: Plan) -> None:
    sheet.gap()
    sheet.say(plan.story, style="bold", hanging=1)
    for text in plan.says:
        sheet.row("write", text)
    for text in plan.mind:
        sheet.row("mind", text)
    for key in plan.keys:
        sheet.row("from", key, whole=True)


def _diff(lines: Iterable[str], *, colour: bool) -> Iterator[str]:
    """Lines of files are shown whole, so that they can be compared."""
    for line in lines:
        code = next((code for start, code in _STYLES.items() if line.startswith(start)), "") if colour else ""
        yield f"\x1b[{code}m{visible(line)}\x1b[0m\n" if code else f"{visible(line)}\n"


def _outcome(sheet: Sheet, found: Adoption) -> None:
    keys = {key for plan in found.plans for key in plan.keys}
    left = counted(found.left, "difference") if found.left else "no difference"
    sheet.say(f"With this, {counted(len(found.gone), 'difference')} fewer: {left} left.")
    _findings(sheet, "also gone", [finding for finding in found.gone if finding.key not in keys])
    _findings(sheet, "new", found.new)


def _findings(sheet: Sheet, label: str, findings: Sequence[Finding]) -> None:
    for finding in findings:
        device = f"{finding.device}, " if finding.device else ""
        sheet.row(label, f"{finding.kind.value}: {device}{place_words(finding.where)} ({finding.key})", cells=11)


def written(found: Adoption) -> str:
    """What was written, and where the former files are."""
    lines = [f"Written: {visible(_short(path, found.folder))}" for path in found.after]
    lines += [f"Kept:    {visible(_short(path, found.folder))}" for path in found.kept]
    return "\n".join([*lines, "toneout adopt --undo goes back to what was there before."]) + "\n"


def _short(path: Path, folder: Path) -> str:
    return str(path.relative_to(folder)) if path.is_relative_to(folder) else str(path)


def restored(paths: Sequence[Path], folder: Path) -> str:
    """What is again as it was before the last change."""
    return "".join(f"As before: {visible(_short(path, folder))}\n" for path in paths)
