"""`toneout swap check` for people, programs and spreadsheets: what is left to do, most disruptive first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from reconcile.cautions import CODES, LASER, POWER
from reconcile.reports import as_json
from reconcile.reports.as_csv import table
from reconcile.reports.escape import visible
from reconcile.reports.layout import Sheet
from reconcile.reports.words import at_time, counted
from reconcile.swap.model import IDLE, Certainty, Left, SwapCheck, SwitchPair

COLUMNS = (
    "what", "trouble", "weight", "subject", "was at", "belongs at", "now at", "says", "do", "macs",
)  # fmt: skip
PORT_COLUMNS = ("old port", "new port", "certainty", "because")
_SHOWN = 60
"""Things left that text lists; the JSON and CSV forms have all."""


def render(found: SwapCheck, form: str, *, width: int = 80, colour: bool = False) -> str:
    """The check in one form: text, json or csv."""
    if form == "json":
        return as_json.render(found)
    if form == "csv":
        return table(COLUMNS, _rows(found))
    sheet = Sheet(width, colour=colour)
    _head(sheet, found)
    _left(sheet, found.left)
    _unsure(sheet, found)
    for switch in found.switches:
        _ports(sheet, switch)
    if found.gaps:
        sheet.heading("Not looked at")
        for gap in found.gaps:
            of = f" {gap.table}" if gap.table else ""
            sheet.say(f"{gap.switch}{of}: {gap.state}; {gap.reason}" + (f" (try: {gap.hint})" if gap.hint else ""))
    if found.left:
        sheet.heading("Mind")
        for text in (POWER, LASER, CODES):
            sheet.say(f"- {text}", hanging=1)
    return str(sheet)


def ports_file(switches: Sequence[SwitchPair]) -> str:
    """The correspondence as a CSV to correct and hand back. Open pairs stand without a new port: a person fills it."""
    rows = []
    for pair in (pair for switch in switches for pair in switch.pairs):
        is_open = pair.certainty is Certainty.OPEN
        because = f"perhaps {pair.new}: {pair.because}" if is_open and pair.new else pair.because
        rows.append((pair.old, "" if is_open else pair.new, pair.certainty.value, because))
    return table(PORT_COLUMNS, rows)


def _head(sheet: Sheet, found: SwapCheck) -> None:
    sheet.name(found.site or "This site", style="bold")
    sheet.say(f"As it was on {at_time(found.before)}, and as it is on {at_time(found.after)}.")
    if found.map_changed:
        sheet.say("The patch map was changed since: names and jacks are those of the start.", style="yellow")
    sheet.gap()
    counts = f"{found.back} of {counted(found.watched, 'link and device', 'links and devices')} that were there"
    if found.exit_code == 0:
        sheet.say(f"Nothing moved: {counts} are back, as they were.", style="bold green")
    elif found.left:
        sheet.say(f"{counted(len(found.left), 'thing')} left to do; {counts} are back.", style="bold")
    else:
        sheet.say(f"Nothing is left to do as far as can be told; {counts} are back.", style="bold yellow")
    for note in found.notes:
        sheet.say(f"As one: {note}.", hanging=1)


def _left(sheet: Sheet, left: Sequence[Left]) -> None:
    if not left:
        return
    sheet.heading("Left to do, most disruptive first")
    for number, one in enumerate(left[:_SHOWN], 1):
        sheet.name(f"{number}. {one.subject}: {one.trouble.value}", style="bold")
        if one.belongs_at and one.was_at != one.belongs_at:
            sheet.row("was at", f"{one.was_at}, which is {one.belongs_at} now", whole=True)
        elif one.was_at:
            sheet.row("was at", one.was_at, whole=True)
        sheet.row("seen", one.says)
        sheet.row("do", one.do)
    if len(left) > _SHOWN:
        sheet.say(f"and {len(left) - _SHOWN} more (--format csv lists all)")


def _unsure(sheet: Sheet, found: SwapCheck) -> None:
    if not found.unsure:
        return
    sheet.heading("Not to be told yet")
    for one in found.unsure:
        sheet.say(f"{one.subject} ({one.was_at}): {one.because}", hanging=1)
    sheet.say("A device that keeps silent is heard once it sends; let it be used, and check again.", style="faint")


def _ports(sheet: Sheet, switch: SwitchPair) -> None:
    name = switch.old if switch.old == switch.new else f"{switch.old}, now {switch.new}"
    sheet.heading(f"Ports of {name}")
    for order in switch.orders:
        sheet.say(f"{order}", style="bold", hanging=1)
    counts = Counter(pair.certainty for pair in switch.pairs)
    sheet.say(", ".join(f"{counts[kind]} {kind.value}" for kind in Certainty if counts[kind]))
    sheet.gap()
    idle = [pair for pair in switch.pairs if pair.because.endswith(IDLE)]
    for pair in switch.pairs:
        if pair in idle:
            continue
        old, new = pair.old.removeprefix(f"{switch.old}:"), pair.new.removeprefix(f"{switch.new}:")
        sheet.row(visible(old), f"{new or '-'} ({pair.certainty.value}): {pair.because}", cells=12)
    if idle:
        sheet.say(f"{counted(len(idle), 'more pair')} without link, by the order of the ports (--format csv lists all)")


def _rows(found: SwapCheck) -> list[Sequence[str]]:
    rows: list[Sequence[str]] = [
        ("left", one.trouble.value, one.weight.value, one.subject, one.was_at, one.belongs_at, one.now_at, one.says,
         one.do, " ".join(one.macs))
        for one in found.left
    ]  # fmt: skip
    rows += [("unsure", "", u.weight.value, u.subject, u.was_at, u.belongs_at, "", u.because, "", "")
             for u in found.unsure]  # fmt: skip
    rows += [
        ("port", p.certainty.value, "", "", p.old, p.new, "", p.because, "", "")
        for s in found.switches for p in s.pairs
    ]  # fmt: skip
    return rows + [("not looked at", "", "", g.switch, "", "", "", f"{g.state}: {g.reason}", g.hint, "")
                   for g in found.gaps]  # fmt: skip
