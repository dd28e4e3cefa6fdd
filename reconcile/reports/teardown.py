"""`toneout teardown` for people, programs and spreadsheets: what goes dark, what to pull, and whether it went so."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

from reconcile.cautions import ABANDONED, CODES, FIRE, LADDER, LASER, MAINS, POWER
from reconcile.reports import as_json
from reconcile.reports.as_csv import table
from reconcile.reports.layout import Sheet
from reconcile.reports.words import at_time, counted, in_order
from reconcile.teardown.model import UNDOCUMENTED, AfterCheck, Alive, Dark, TeardownPlan, Why

COLUMNS = ("what", "name", "kind", "from", "to", "room", "because", "alive", "last seen", "remark")
UPLINKS = "links between switches: tell the people who depend on them, and pull them last, one at a time"


def render(plan: TeardownPlan, form: str, *, width: int = 80, colour: bool = False) -> str:
    """The plan in one form: text, json or csv."""
    if form == "json":
        return as_json.render(plan)
    if form == "csv":
        return table(COLUMNS, [*_dark_rows(plan), *_pull_rows(plan), *_spare_rows(plan)])
    sheet = Sheet(width, colour=colour)
    sheet.name(plan.site or "This site", style="bold")
    sheet.say(f"Tearing down {', '.join(plan.what)}, as the switches saw it on {at_time(plan.taken)}.")
    sheet.say(f"Reach is counted from {plan.root}.")
    _dark(sheet, plan)
    _gateways(sheet, plan)
    _remarks(sheet, plan)
    _pulls(sheet, plan)
    _spare(sheet, plan)
    _gaps(sheet, [f"{gap.switch}: {gap.state}; {gap.reason}" for gap in plan.gaps])
    sheet.heading("Mind")
    for text in _cautions(plan):
        sheet.say(f"- {text}", hanging=1)
    return str(sheet)


def render_after(found: AfterCheck, form: str, *, width: int = 80, colour: bool = False) -> str:
    """The check afterwards in one form: text, json or csv."""
    groups: Sequence[tuple[str, Sequence[str]]] = (
        ("Also dark, and not planned", found.also_dark),
        ("Still alive", found.still_alive),
        ("Not to be told yet", found.unsure),
        ("Dark as planned", found.as_planned),
    )
    if form == "json":
        return as_json.render(found)
    if form == "csv":
        return table(("what", "says"), [(heading.lower(), text) for heading, texts in groups for text in texts])
    sheet = Sheet(width, colour=colour)
    sheet.name(found.site or "This site", style="bold")
    planned = f"planned on {at_time(found.before)}, looked at again on {at_time(found.after)}"
    sheet.say(f"Tearing down {', '.join(found.what)}: {planned}.")
    sheet.gap()
    if found.exit_code == 0:
        sheet.say(f"Just this went dark: {counted(len(found.as_planned), 'thing')}, as planned.", style="bold green")
    elif found.exit_code == 1:
        also, alive = counted(len(found.also_dark), "thing"), counted(len(found.still_alive), "thing")
        sheet.say(f"{also} went dark beyond the plan; {alive} of it still alive.", style="bold")
    else:
        sheet.say("Just this went dark, as far as could be looked at.", style="bold yellow")
    for heading, texts in groups:
        if texts:
            sheet.heading(f"{heading} ({len(texts)})")
            for text in texts:
                sheet.say(text, hanging=1)
    _gaps(sheet, [f"{gap.switch}: {gap.state}; {gap.reason}" for gap in found.gaps])
    return str(sheet)


def _dark(sheet: Sheet, plan: TeardownPlan) -> None:
    sheet.heading(f"What goes dark ({len(plan.dark)})")
    if not plan.dark:
        sheet.say("Nothing that was observed or documented.")
    for why in Why:
        group = [dark for dark in plan.dark if dark.why is why and dark.kind != UNDOCUMENTED]
        if group:
            sheet.say(f"{why.value}:", style="bold")
            _devices(sheet, group)
            sheet.gap()
    strangers = [dark for dark in plan.dark if dark.kind == UNDOCUMENTED]
    if strangers:
        sheet.say("there, although the map does not know it:", style="bold")
        _devices(sheet, strangers)


def _devices(sheet: Sheet, group: Iterable[Dark]) -> None:
    for dark in group:
        name = f"switch {dark.name}" if dark.kind == "switch" else dark.name
        hangs = dark.why is Why.ONLY_THROUGH and dark.through
        parts = [
            name,
            f"at {dark.at}" if dark.at else "",
            dark.room,
            f"only through {dark.through}" if hangs else "",
            _life(dark),
        ]
        sheet.say(", ".join(part for part in parts if part), depth=1, hanging=1)


def _life(dark: Dark) -> str:
    if dark.alive is Alive.HEARD:
        return ""  # the rule, and told at the top: as the switches saw it
    since = f", last seen {at_time(dark.last_seen)}" if dark.last_seen else ""
    return f"{dark.alive.value}{since}"


def _gateways(sheet: Sheet, plan: TeardownPlan) -> None:
    sheet.heading("Way out")
    if not plan.gateways:
        sheet.say("No gateway is known: no device of kind firewall, router or gateway, no virtual gateway address.")
    for way in plan.gateways:
        at = f" at {way.at}" if way.at else ""
        sheet.say(f"{way.name}{at}" + (" is torn down itself" if way.torn_down else " stays"))
    if plan.lose_gateway:
        sheet.say(f"Stay up without a way out: {', '.join(plan.lose_gateway)}", hanging=1, style="yellow")
    elif any(dark.why is Why.ONLY_THROUGH for dark in plan.dark):
        sheet.say(
            "It carries the only path there for what is listed as reached only through it.", hanging=1, style="yellow"
        )
    elif plan.gateways:
        sheet.say("It carries nobody's only path there but that of what goes dark itself.", hanging=1)


def _remarks(sheet: Sheet, plan: TeardownPlan) -> None:
    rows = [f"stays: {text}" for text in plan.stays]
    rows += [f"no second way any more: {text}" for text in plan.now_single]
    rows += list(plan.notes)
    if plan.loads:
        known = [load.watts for load in plan.loads if load.watts is not None]
        watts = f", {sum(known):g} W" if known else ""
        loads = ", ".join(load.port + ("" if load.watts is None else f" ({load.watts:g} W)") for load in plan.loads)
        rows.append(f"{counted(len(plan.loads), 'PoE load')}{watts}: {loads}")
    if rows:
        sheet.heading("Remarks")
    for text in rows:
        sheet.say(f"- {text}", hanging=1)


def _pulls(sheet: Sheet, plan: TeardownPlan) -> None:
    sheet.heading(f"Cords to pull, in this order ({len(plan.pulls)})")
    for number, pull in enumerate(plan.pulls, 1):
        name = pull.cord if pull.cord.startswith("own lead") else f"cord {pull.cord}" if pull.cord else "a cord"
        kind = " (link between switches)" if pull.link else ""
        sheet.name(f"{number}. {name}: {pull.a} - {pull.b}{kind}")
        for text in pull.mind:
            sheet.say(text, depth=2, hanging=1, style="yellow")


def _spare(sheet: Sheet, plan: TeardownPlan) -> None:
    spare = plan.spare
    groups = (
        ("ports", spare.ports), ("jacks", spare.jacks), ("outlets", spare.outlets), ("cords", spare.cords),
        ("cables", spare.cables),
    )  # fmt: skip
    if any(names for _, names in groups):
        sheet.heading("What becomes spare")
    for what, names in groups:
        if names:
            sheet.row(what, _grouped(names))


def _grouped(names: Sequence[str]) -> str:
    """`PP-A: 1, 2, 3; PP-B: 4` for places, a plain list for labels."""
    groups: dict[str, list[str]] = defaultdict(list)
    for name in sorted(names, key=in_order):
        holder, _, position = name.partition(":")
        groups[holder if position else ""].append(position or name)
    return "; ".join((f"{holder}: " if holder else "") + ", ".join(found) for holder, found in groups.items())


def _gaps(sheet: Sheet, gaps: Sequence[str]) -> None:
    if gaps:
        sheet.heading("Not looked at")
        for text in gaps:
            sheet.say(text, hanging=1)


def _cautions(plan: TeardownPlan) -> list[str]:
    links = [UPLINKS] if any(pull.link for pull in plan.pulls) else []
    cabling = [ABANDONED, FIRE] if plan.spare.cables else []
    return [POWER, *links, LASER, LADDER, MAINS, *cabling, CODES]


def _dark_rows(plan: TeardownPlan) -> list[Sequence[str]]:
    return [
        ("dark", d.name, d.kind, d.at, "", d.room, d.why.value, d.alive.value,
         d.last_seen.isoformat() if d.last_seen else "", d.through)
        for d in plan.dark
    ]  # fmt: skip


def _pull_rows(plan: TeardownPlan) -> list[Sequence[str]]:
    return [
        (f"pull {number}", p.cord, "link" if p.link else "cord", p.a, p.b, "", "", "", "", "; ".join(p.mind))
        for number, p in enumerate(plan.pulls, 1)
    ]


def _spare_rows(plan: TeardownPlan) -> list[Sequence[str]]:
    return [
        ("spare", name, kind.removesuffix("s"), "", "", "", "", "", "", "")
        for kind, names in plan.spare.model_dump().items()
        for name in names
    ]
