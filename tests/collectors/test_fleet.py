from __future__ import annotations

import asyncio
import os
import signal
import subprocess
import sys
from collections.abc import Awaitable, Callable, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from collectors.access import SnmpAccess, SshAccess, SwitchAccess
from collectors.contracts import Collector, Progress
from collectors.errors import NoAnswer, SecretError
from collectors.fleet import FleetProgress, collect_fleet
from collectors.registry import Way
from collectors.snapshot import (
    CollectedSwitch,
    FailedSwitch,
    Hardware,
    Neighbour,
    Port,
    Sighting,
    Snapshot,
    Table,
    TableReport,
    TableState,
)

HERE = Path()
SNMP = SnmpAccess(community="env:COMMUNITY")
SSH = SshAccess(platform="linux", user="keeper")
DESKTOP = "00:1b:21:00:00:01"

Told = CollectedSwitch | FailedSwitch
Script = Callable[[SwitchAccess], Awaitable[Told]]


class Scripted:
    """A collector that answers as a test wants, and notes what it was asked for."""

    def __init__(self, script: Script) -> None:
        self.script = script
        self.asked: list[tuple[str, frozenset[Table]]] = []
        self.under_way = 0
        self.most_under_way = 0

    async def collect(
        self, access: SwitchAccess, *, secrets_from: Path, want: frozenset[Table], progress: Progress
    ) -> Told:
        self.asked.append((access.name, want))
        self.under_way += 1
        self.most_under_way = max(self.most_under_way, self.under_way)
        progress(access.name, "reading")
        try:
            return await self.script(access)
        finally:
            self.under_way -= 1


def access(name: str, *, ssh: bool = False, snmp: bool = True, budget: float = 120.0) -> SwitchAccess:
    return SwitchAccess(
        name=name, address="192.0.2.1", snmp=SNMP if snmp else None, ssh=SSH if ssh else None, budget=budget
    )


def read(rows: int = 1, source: str = "snmp 2c", **more: str) -> TableReport:
    return TableReport(state=TableState.READ, rows=rows, source=source, **more)


def switch(name: str, **facts: object) -> CollectedSwitch:
    return CollectedSwitch.model_validate({"name": name, "started": datetime.now(UTC), **facts})


def makers(snmp: Scripted, ssh: Scripted | None = None) -> Mapping[Way, Callable[[], Collector]]:
    return {"snmp": lambda: snmp, "ssh": lambda: ssh or snmp}


def collect(accesses: list[SwitchAccess], snmp: Scripted, ssh: Scripted | None = None, **how: object) -> Snapshot:
    return asyncio.run(
        collect_fleet(accesses, site="saltmarsh", secrets_from=HERE, collectors=makers(snmp, ssh), **how)  # type: ignore[arg-type]  # passed on
    )


async def answer_plainly(access: SwitchAccess) -> Told:
    return switch(access.name)


async def never(access: SwitchAccess) -> Told:
    await asyncio.Event().wait()
    raise AssertionError("an event that nobody sets was set")


def test_switches_appear_in_the_given_order_whatever_order_they_answer_in() -> None:
    last_may_go = asyncio.Event()

    async def first_is_slow(access: SwitchAccess) -> Told:
        if access.name == "wet-lab":
            await last_may_go.wait()
        last_may_go.set()
        return switch(access.name)

    snapshot = collect([access("wet-lab"), access("boat-shed")], Scripted(first_is_slow))
    assert [told.name for told in snapshot.switches] == ["wet-lab", "boat-shed"]
    assert (snapshot.site, snapshot.unfinished, snapshot.failed) == ("saltmarsh", "", [])


def test_no_more_switches_are_asked_at_once_than_allowed() -> None:
    async def a_moment(access: SwitchAccess) -> Told:
        await asyncio.sleep(0)
        return switch(access.name)

    for allowed in (1, 3):
        collector = Scripted(a_moment)
        collect([access(f"sw-{n}") for n in range(12)], collector, at_once=allowed)
        assert collector.most_under_way == allowed
        assert [name for name, _ in collector.asked] == [f"sw-{n}" for n in range(12)]


def test_one_failure_is_one_row_whatever_a_collector_does() -> None:
    async def trouble(access: SwitchAccess) -> Told:
        if access.name == "raises":
            raise NoAnswer(access.name, "nothing came back in 6 s", "ping it")
        if access.name == "secret":
            raise SecretError("env:COMMUNITY", "this environment variable is not set", "export it")
        if access.name == "breaks":
            raise ZeroDivisionError("tide-table-7 is the community")
        if access.name == "row":
            return FailedSwitch(name="row", started=datetime.now(UTC), reason="closed", kind="refused")
        return switch(access.name)

    names = ["raises", "secret", "fine", "breaks", "row"]
    snapshot = collect([access(name) for name in names], Scripted(trouble))
    assert [told.name for told in snapshot.switches] == ["fine"]
    rows = {row.name: row for row in snapshot.failed}
    assert (rows["raises"].kind, rows["raises"].reason) == ("no answer", "nothing came back in 6 s")
    assert rows["secret"].reason == "env:COMMUNITY: this environment variable is not set"
    assert rows["breaks"].kind == "bad answer"
    assert "ZeroDivisionError at test_fleet.py:" in rows["breaks"].reason
    assert "tide-table-7" not in snapshot.model_dump_json()
    assert rows["row"].kind == "refused"


def test_a_switch_that_takes_too_long_costs_its_budget_and_its_row(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("collectors.one_switch._GRACE_SECONDS", 0.0)

    async def one_hangs(access: SwitchAccess) -> Told:
        return await (never if access.name == "hangs" else answer_plainly)(access)

    snapshot = collect([access("hangs", budget=0.05), access("fine")], Scripted(one_hangs))
    assert [told.name for told in snapshot.switches] == ["fine"]
    assert [(row.kind, row.reason) for row in snapshot.failed] == [
        ("no answer", "did not finish by snmp within its budget of 0.05 s")
    ]
    assert not snapshot.unfinished


def test_the_run_s_time_keeps_what_is_complete_and_says_what_is_not() -> None:
    async def one_answers(access: SwitchAccess) -> Told:
        return await (answer_plainly if access.name == "fine" else never)(access)

    accesses = [access("hangs"), access("fine"), access("waits"), access("waits too")]
    snapshot = collect(accesses, Scripted(one_answers), at_once=2, deadline=0.1)
    assert [told.name for told in snapshot.switches] == ["fine"]
    assert [(row.name, row.kind) for row in snapshot.failed] == [
        (name, "not finished") for name in ("hangs", "waits", "waits too")
    ]
    assert snapshot.unfinished == "the run's time of 0.1 s was over: 3 of 4 switches were not read to the end"


def test_an_interruption_keeps_what_the_first_way_gave() -> None:
    async def with_ports(access: SwitchAccess) -> Told:
        return switch(access.name, ports=[Port(name="1")], tables={Table.INTERFACES: read()})

    snapshot = collect([access("both", ssh=True)], Scripted(with_ports), Scripted(never), deadline=0.1)
    assert [port.name for port in snapshot.switches[0].ports] == ["1"]
    assert snapshot.switches[0].oddities == ["not asked every way: the run's time of 0.1 s was over"]
    assert "1 of 1 switches" in snapshot.unfinished


INTERRUPTED = """
import asyncio
from pathlib import Path
from tests.collectors.test_fleet import Scripted, access, answer_plainly, makers, never
from collectors.fleet import collect_fleet

async def one_hangs(access):
    return await (never if access.name == "hangs" else answer_plainly)(access)

def tell(progress):
    if progress.done == 1:
        print("one is done", flush=True)

accesses = [access("fine"), access("hangs")]
how = {"site": "", "secrets_from": Path(), "collectors": makers(Scripted(one_hangs)), "progress": tell}
snapshot = asyncio.run(collect_fleet(accesses, **how))
print(snapshot.unfinished, [told.name for told in snapshot.switches], [row.kind for row in snapshot.failed])
"""


def test_ctrl_c_keeps_what_is_complete() -> None:
    root = Path(__file__).parents[2]
    command = [sys.executable, "-c", INTERRUPTED]
    with subprocess.Popen(command, cwd=root, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        assert process.stdout.readline() == "one is done\n", process.stderr.read()
        os.kill(process.pid, signal.SIGINT)
        said, complaints = process.communicate(timeout=30)
    assert said.splitlines()[-1] == "interrupted: 1 of 2 switches were not read to the end ['fine'] ['not finished']"
    assert complaints == ""


def test_progress_counts_and_names_the_switch_under_way_longest() -> None:
    told: list[FleetProgress] = []

    async def one_fails(access: SwitchAccess) -> Told:
        await asyncio.sleep(0.01 if access.name == "slow" else 0)
        if access.name == "bad":
            raise NoAnswer("bad", "nothing came back")
        return switch(access.name)

    collect([access("slow"), access("bad"), access("fine")], Scripted(one_fails), progress=told.append)
    assert [(step.done, step.failed) for step in told if step.done][-1] == (3, 1)
    assert {step.slowest for step in told if step.running} == {"slow"}
    assert {step.slowest_doing for step in told if step.running} >= {"reading"}
    assert max(step.running for step in told) == 3
    assert told[-1] == FleetProgress(3, 3, 1, 0, "", 0.0, "")


def test_rows_are_dated_from_the_start_of_the_snapshot() -> None:
    async def two_rows(access: SwitchAccess) -> Told:
        await asyncio.sleep(0)
        return switch(
            access.name,
            started=datetime.now(UTC) + timedelta(seconds=10),
            seconds=3.0,
            sightings=[Sighting(DESKTOP, 1, "1", at=2.0), Sighting(DESKTOP, 2, "1")],
            neighbours=[Neighbour(port="1", at=1.0)],
        )

    told = collect([access("a")], Scripted(two_rows)).switches[0]
    assert [row.at for row in told.sightings] == pytest.approx([12.0, 13.0], abs=1.0)
    assert told.neighbours[0].at == pytest.approx(11.0, abs=1.0)


def test_ssh_supplies_the_tables_that_snmp_lacks_and_the_report_names_the_source() -> None:
    lacking = TableReport(state=TableState.NOT_SERVED, reason="no BRIDGE-MIB", source="snmp 2c")

    async def by_snmp(access: SwitchAccess) -> Told:
        return switch(
            access.name,
            ports=[Port(name="Gi1/0/1", if_index=10101, oper="up"), Port(name="Gi1/0/2")],
            own_macs=["00:1b:21:aa:00:00"],
            tables={Table.INTERFACES: read(2), Table.FORWARDING: lacking},
        )

    async def by_ssh(access: SwitchAccess) -> Told:
        sightings = [
            Sighting(DESKTOP, 10, "GigabitEthernet1/0/1"),
            Sighting(DESKTOP, 20, "Vx7"),
            Sighting(DESKTOP, 30, None),
        ]
        return switch(
            access.name,
            sightings=sightings,
            ports=[Port(name="GigabitEthernet1/0/1", oper="down")],
            tables={Table.FORWARDING: read(3, "ssh cisco_ios: show mac address-table")},
        )

    snmp, ssh = Scripted(by_snmp), Scripted(by_ssh)
    want = frozenset({Table.INTERFACES, Table.FORWARDING})
    told = collect([access("a", ssh=True)], snmp, ssh, want=want).switches[0]
    assert ssh.asked == [("a", frozenset({Table.FORWARDING}))]
    assert [row.port for row in told.sightings] == ["Gi1/0/1", "Vx7", None]
    assert [(port.name, port.oper) for port in told.ports] == [("Gi1/0/1", "up"), ("Gi1/0/2", None), ("Vx7", None)]
    assert told.report(Table.FORWARDING).source == "ssh cisco_ios: show mac address-table"
    assert told.report(Table.INTERFACES).source == "snmp 2c"


def test_ssh_is_left_alone_when_snmp_gave_everything() -> None:
    async def everything(access: SwitchAccess) -> Told:
        return switch(access.name, tables={table: read() for table in Table})

    ssh = Scripted(answer_plainly)
    collect([access("a", ssh=True)], Scripted(everything), ssh)
    assert ssh.asked == []


def test_a_partial_table_gives_way_to_a_whole_one_only() -> None:
    vlan_1_only = read(1, partial="VLAN 1 alone is shown")

    async def by_snmp(access: SwitchAccess) -> Told:
        sightings = [Sighting(DESKTOP, 1, "1")]
        return switch(access.name, sightings=sightings, tables={Table.FORWARDING: vlan_1_only})

    for partial, rows in (("", 2), ("cut after 2 rows", 1)):

        async def by_ssh(access: SwitchAccess, partial: str = partial) -> Told:
            sightings = [Sighting(DESKTOP, 1, "1"), Sighting(DESKTOP, 2, "1")]
            return switch(access.name, sightings=sightings, tables={Table.FORWARDING: read(2, "ssh", partial=partial)})

        told = collect([access("a", ssh=True)], Scripted(by_snmp), Scripted(by_ssh)).switches[0]
        assert len(told.sightings) == rows


def test_a_switch_that_fails_by_snmp_is_read_by_ssh_and_says_so() -> None:
    async def silent(access: SwitchAccess) -> Told:
        raise NoAnswer(access.name, "nothing came back in 6 s")

    told = collect([access("a", ssh=True)], Scripted(silent), Scripted(answer_plainly))
    assert told.failed == []
    assert told.switches[0].oddities == ["asked by ssh alone: nothing came back in 6 s"]
    both = collect([access("a", ssh=True)], Scripted(silent), Scripted(silent)).failed[0]
    assert both.reason == "nothing came back in 6 s; ssh: nothing came back in 6 s"
    half = collect([access("a", ssh=True)], Scripted(answer_plainly), Scripted(silent)).switches[0]
    assert half.oddities == ["ssh: nothing came back in 6 s"]


@pytest.mark.parametrize(
    ("facts", "why"),
    [
        ({"chassis_id": "00:1b:21:aa:00:00"}, "chassis id 00:1b:21:aa:00:00"),
        ({"own_macs": ["00:1b:21:aa:00:00"]}, "1 own MAC addresses"),
        ({"hardware": [Hardware(kind="chassis", serial="S7")]}, "chassis serial"),
    ],
)
def test_one_switch_under_two_names_is_noted_at_both(facts: dict[str, object], why: str) -> None:
    async def twins(access: SwitchAccess) -> Told:
        return switch(access.name, **(facts if access.name != "other" else {}))

    told = collect([access("a"), access("other"), access("b")], Scripted(twins)).switches
    assert [len(one.oddities) for one in told] == [1, 0, 1]
    assert told[0].oddities[0].startswith(f"answers as the same switch as b ({why}")


def test_what_many_switches_share_by_design_makes_no_twins() -> None:
    async def alike(access: SwitchAccess) -> Told:
        # An all-zero chassis id (real agents give it) and a VRRP virtual router address (RFC 9568).
        return switch(access.name, chassis_id="00:00:00:00:00:00", own_macs=["00:00:5e:00:01:01"])

    told = collect([access("a"), access("b")], Scripted(alike)).switches
    assert [one.oddities for one in told] == [[], []]


def test_the_most_heard_switch_is_read_again_at_the_end() -> None:
    rounds = {"busy": 0, "quiet": 0}

    async def moving(access: SwitchAccess) -> Told:
        rounds[access.name] += 1
        rows = [Sighting(DESKTOP, 1, f"port {rounds[access.name]}")] * (3 if access.name == "busy" else 1)
        return switch(access.name, sightings=rows, ports=[Port(name="1")], tables={Table.FORWARDING: read(len(rows))})

    collector = Scripted(moving)
    snapshot = collect([access("busy"), access("quiet")], collector, reread=1)
    assert collector.asked[2:] == [("busy", frozenset({Table.FORWARDING}))]
    assert {row.port for row in snapshot.switches[0].sightings} == {"port 2"}
    assert snapshot.switches[0].oddities == []
    assert {row.port for row in snapshot.switches[1].sightings} == {"port 1"}


def test_a_second_reading_that_fails_leaves_the_first() -> None:
    rounds: list[str] = []

    async def once(access: SwitchAccess) -> Told:
        rounds.append(access.name)
        if len(rounds) > 1:
            raise NoAnswer(access.name, "nothing came back")
        return switch(access.name, sightings=[Sighting(DESKTOP, 1, "1")], tables={Table.FORWARDING: read()})

    snapshot = collect([access("a")], Scripted(once), reread=5)
    assert len(snapshot.switches[0].sightings) == 1
    assert snapshot.failed == []


def test_a_site_without_switches_gives_an_empty_snapshot() -> None:
    assert collect([], Scripted(answer_plainly)).switches == []
