"""For setting up: can this switch be asked, what does it serve, how long does it take, and which line to change."""

from __future__ import annotations

import asyncio
import math
import re
import socket
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal, NamedTuple

from collectors.access import SnmpAccess, SwitchAccess
from collectors.contracts import Collector, Progress
from collectors.errors import CollectError, NoAnswer, Refused
from collectors.one_switch import Answer, Asking, ask_one_way, ways_of
from collectors.registry import COLLECTORS, Way
from collectors.snapshot import CollectedSwitch, FailedSwitch, Table, TableState

WORTH_SSH = (Table.FORWARDING, Table.NEIGHBOURS)
"""Tables without which hardly anything can be placed: worth a second way of asking."""

_SLOW_SHARE = 0.5
"""Of a switch's budget: one that needs more has no room for a busy day."""

_QUICK_SECONDS = 3.0
"""For one try of another SNMP version."""

# What sysDescr usually says on each platform that can be asked over SSH; the first that fits. From memory: a hint only.
_PLATFORMS: tuple[tuple[str, str], ...] = (
    (r"NX-OS", "cisco_nxos"),
    (r"\bS[GF][235]\d\d\b", "cisco_s300"),
    (r"Cisco IOS|IOS-XE|Cisco Internetwork", "cisco_ios"),
    (r"Arista", "arista_eos"),
    (r"JUNOS|Juniper", "juniper_junos"),
    (r"AOS-CX|ArubaOS-CX|Virtual\.\d\d\.\d\d", "aruba_aoscx"),
    (r"ProCurve|Aruba|HP .*revision", "hp_procurve"),
    (r"Comware|H3C", "hp_comware"),
    (r"Huawei|VRP", "huawei_vrp"),
    (r"Brocade|Ruckus|Foundry|FastIron|\bICX", "brocade_fastiron"),
    (r"RouterOS|MikroTik", "mikrotik_routeros"),
    (r"^Linux ", "linux"),
)


class Advice(NamedTuple):
    """A line to write into the switch's table of toneout.toml, and why. Without a line it is advice on the switch."""

    why: str
    line: str = ""


@dataclass(frozen=True)
class WayProbed:
    """What came of asking one way: a collected switch with a report per table, or the reason why not."""

    way: Way
    answer: Answer

    @property
    def works(self) -> bool:
        """True when the switch answered and let us in."""
        return isinstance(self.answer, CollectedSwitch)


@dataclass
class ProbeReport:
    """Everything found out about one switch; `answer.tables` of each way has state, rows and seconds per table."""

    name: str
    address: str
    resolved: list[str] = field(default_factory=list)
    """Addresses that the name stands for; empty when it does not resolve."""
    ways: list[WayProbed] = field(default_factory=list)
    advice: list[Advice] = field(default_factory=list)

    @property
    def works(self) -> bool:
        """True when every way that is set up works."""
        return bool(self.ways) and all(probed.works for probed in self.ways)


async def probe(
    access: SwitchAccess,
    secrets_from: Path,
    *,
    progress: Progress = lambda switch, doing: None,
    collectors: Mapping[Way, Callable[[], Collector]] = COLLECTORS,
) -> ProbeReport:
    """Asks one switch every way that is set up, all tables, each way with the whole budget. Changes nothing on it.

    Never raises for what a switch does.
    """
    report = ProbeReport(access.name, access.address, await _resolve(access.address))
    asking = Asking(secrets_from, frozenset(Table), collectors, progress, datetime.now(UTC))
    for way in ways_of(access):
        answer = await ask_one_way(access, way, asking, asking.want, access.budget)
        report.ways.append(WayProbed(way, answer))
        if isinstance(answer, FailedSwitch):
            report.advice += await _advice_on_failure(access, way, answer, secrets_from)
        else:
            report.advice += _advice_on_time(access, way, answer)
    report.advice += _advice_on_tables(access, report.ways)
    return report


async def _resolve(address: str) -> list[str]:
    try:
        found = await asyncio.get_running_loop().getaddrinfo(address, None, type=socket.SOCK_DGRAM)
    except (OSError, UnicodeError):
        return []
    return list(dict.fromkeys(str(entry[4][0]) for entry in found))


async def _advice_on_failure(access: SwitchAccess, way: Way, failed: FailedSwitch, base: Path) -> list[Advice]:
    told = [Advice(failed.hint)] if failed.hint else []
    if way == "snmp" and access.snmp and failed.kind == "no answer":
        return await _other_versions(access, access.snmp, base) or told
    return told


async def _other_versions(access: SwitchAccess, snmp: SnmpAccess, base: Path) -> list[Advice]:
    """What the switch answers to instead of the version that was silent."""
    others: tuple[Literal["1", "2c"], ...] = ("2c", "1")
    for version in others if snmp.community else ():
        if version != snmp.version and await _answers(access, snmp, base, version=version) == "answers":
            why = f"answers SNMP version {version}, and not version {snmp.version}"
            return [Advice(why, f'snmp.version = "{version}"')]
    if snmp.version == "3":
        return []
    stranger = {"version": "3", "user": "toneout-probe", "auth": None, "privacy": None}
    if await _answers(access, snmp, base, **stranger) != "silent":
        why = (
            "answers SNMPv3, and not this community: correct the community, or ask by version 3 with a user of its own"
        )
        return [Advice(why, 'snmp.version = "3"')]
    return []


async def _answers(access: SwitchAccess, snmp: SnmpAccess, base: Path, **changes: object) -> str:
    """`answers`, `refuses` or `silent`, after one try."""
    from collectors.transports import snmp_ber as ber
    from collectors.transports.snmp import SnmpSession

    other = access.model_copy(update={"snmp": snmp.model_copy(update={"retries": 0, **changes})})
    deadline = asyncio.get_running_loop().time() + _QUICK_SECONDS
    try:
        async with await SnmpSession.open(other, secrets_from=base, deadline=deadline) as session:
            await session.ask(ber.GET_NEXT, [ber.oid_octets((1, 3, 6, 1, 2, 1, 1))])
    except Refused:
        return "refuses"
    except CollectError as error:
        # A user that nobody knows is told so by a report; some agents say nothing more after naming their engine.
        named = isinstance(error, NoAnswer) and "answers to SNMPv3" in error.problem
        return "refuses" if named else "silent"
    return "answers"


def _advice_on_time(access: SwitchAccess, way: Way, switch: CollectedSwitch) -> list[Advice]:
    advice = []
    late = [table for table, report in switch.tables.items() if report.state is TableState.TIMED_OUT]
    if late and way == "snmp" and access.snmp:
        why = f"no answer in time to {', '.join(late)}"
        advice.append(Advice(why, f"snmp.timeout = {access.snmp.timeout * 2:g}"))
    if switch.seconds > access.budget * _SLOW_SHARE:
        enough = math.ceil(switch.seconds * 3 / 30) * 30
        why = f"took {switch.seconds:.0f} s of the {access.budget:g} s that it may cost"
        advice.append(Advice(why, f"budget = {enough}"))
    return advice


def _advice_on_tables(access: SwitchAccess, ways: list[WayProbed]) -> list[Advice]:
    answers = [probed.answer for probed in ways if isinstance(probed.answer, CollectedSwitch)]
    if not answers:
        return []
    advice = []
    lacking = [table for table in WORTH_SSH if not any(answer.report(table).whole for answer in answers)]
    refused = [table for table in Table if any(answer.report(table).state is TableState.REFUSED for answer in answers)]
    if refused:
        advice.append(Advice(f"refused: {', '.join(refused)}; on the switch, let the view of this user include them"))
    if lacking and access.ssh is None:
        platform = next((name for answer in answers if (name := platform_of(answer.system.descr))), "...")
        why = f"no full {' and '.join(lacking)} by SNMP; SSH may tell them"
        advice.append(Advice(why, f'ssh = {{ platform = "{platform}", user = "..." }}'))
    return advice


def platform_of(descr: str) -> str:
    """The SSH platform that a sysDescr points to, else empty."""
    return next((name for words, name in _PLATFORMS if re.search(words, descr)), "")
