"""Switches asked over SSH: logging in, host keys, jump hosts, and what may go wrong in the middle."""

from __future__ import annotations

import asyncio
import logging
import os
import shutil
import stat
import subprocess
import time
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path
from typing import Any

import asyncssh
import pytest
from pydantic import SecretStr

from collectors import platforms
from collectors.access import SshAccess, SwitchAccess
from collectors.snapshot import CollectedSwitch, FailedSwitch, Table, TableState
from collectors.ssh_collector import SshCollector
from collectors.transports import ssh
from tests.collectors.ssh_asking import Progress, access_to, collect, collected, failed
from tests.collectors.ssh_server import PASSWORD, USER, Faults, recording, serve


@pytest.fixture(autouse=True)
def _secret(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("SWITCH_PASSWORD", PASSWORD)
    monkeypatch.setenv("HOME", str(tmp_path))


class TestHostKey:
    def test_first_contact_is_refused_with_the_fingerprint_and_the_command_that_accepts(self, tmp_path: Path) -> None:
        with serve(recording("cisco_ios")) as served:
            result = failed(collect(served, tmp_path, known=""))
        assert result.kind == "refused"
        assert f"unknown host key, ssh-ed25519 {served.fingerprint}" in result.reason
        scan = f"ssh-keyscan -t ed25519 -p {served.port} 127.0.0.1 >> {tmp_path / 'known_hosts'}"
        assert result.hint.endswith(scan)
        assert (served.passwords, served.lines) == ([], [])

    def test_a_file_of_host_keys_that_is_not_there_trusts_nobody(self, tmp_path: Path) -> None:
        with serve(recording("cisco_ios")) as served:
            result = failed(collect(served, tmp_path, known_hosts="elsewhere/known_hosts"))
        assert "unknown host key" in result.reason

    def test_a_record_with_hashed_names_is_read(self, tmp_path: Path) -> None:
        with serve(recording("linux")) as served:
            (tmp_path / "plain").write_text(served.known_hosts_line())
            subprocess.run(["ssh-keygen", "-q", "-H", "-f", str(tmp_path / "plain")], check=True, capture_output=True)
            hashed = (tmp_path / "plain").read_text()
            collected(collect(served, tmp_path, known=hashed, want=SYSTEM))
        assert hashed.startswith("|1|")

    def test_the_users_own_file_counts_when_none_is_named(self, tmp_path: Path) -> None:
        with serve(recording("linux")) as served:
            (tmp_path / ".ssh").mkdir()
            (tmp_path / ".ssh" / "known_hosts").write_text(served.known_hosts_line())
            collected(collect(served, tmp_path, known="", known_hosts=None, want=frozenset({Table.SYSTEM})))

    def test_another_key_than_the_one_on_record_is_refused_in_strong_words(self, tmp_path: Path) -> None:
        other = asyncssh.generate_private_key("ssh-ed25519")
        with serve(recording("cisco_ios")) as served:
            result = failed(collect(served, tmp_path, known=served.known_hosts_line(other)))
        assert result.kind == "refused"
        assert "THE HOST KEY IS NOT THE ONE ON RECORD" in result.reason
        assert served.fingerprint in result.reason
        assert "only then" in result.hint
        assert f"ssh-keygen -R '[127.0.0.1]:{served.port}' -f {tmp_path / 'known_hosts'}" in result.hint
        assert (served.passwords, served.lines) == ([], [])

    def test_a_key_of_another_kind_than_the_one_on_record_is_refused_alike(self, tmp_path: Path) -> None:
        other = asyncssh.generate_private_key("ecdsa-sha2-nistp256")
        with serve(recording("cisco_ios")) as served:
            result = failed(collect(served, tmp_path, known=served.known_hosts_line(other)))
        assert "THE HOST KEY IS NOT THE ONE ON RECORD" in result.reason

    def test_a_broken_record_trusts_nobody(self, tmp_path: Path) -> None:
        with serve(recording("cisco_ios")) as served:
            broken = f"[127.0.0.1]:{served.port} ssh-ed25519 not*base64=\n"
            result = failed(collect(served, tmp_path, known=broken))
        assert result.kind == "refused"
        assert served.lines == []


class TestLoggingIn:
    def test_a_wrong_password_is_refused_and_never_repeated(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
    ) -> None:
        monkeypatch.setenv("SWITCH_PASSWORD", "not-the-right-one-9")
        with caplog.at_level(logging.DEBUG), serve(recording("cisco_ios")) as served:
            result = failed(collect(served, tmp_path))
        assert (result.kind, result.reason) == ("refused", "user, password or key refused")
        assert served.passwords == ["not-the-right-one-9"]
        assert "not-the-right-one-9" not in caplog.text + repr(result) + result.model_dump_json()

    def test_the_password_stands_in_nothing_that_a_run_leaves_behind(
        self, tmp_path: Path, caplog: pytest.LogCaptureFixture, capfd: pytest.CaptureFixture[str]
    ) -> None:
        with caplog.at_level(logging.DEBUG), serve(recording("cisco_ios")) as served:
            switch = collected(collect(served, tmp_path))
        assert served.passwords == [PASSWORD]
        printed = capfd.readouterr()
        assert PASSWORD not in caplog.text + printed.out + printed.err + repr(switch) + switch.model_dump_json()

    def test_objects_on_the_way_mask_the_secret(self, tmp_path: Path) -> None:
        access = SshAccess(platform="linux", user=USER, secret="env:SWITCH_PASSWORD")
        door = ssh.Door("wet lab", "127.0.0.1", access, tmp_path, SecretStr(PASSWORD), SecretStr(PASSWORD))
        assert PASSWORD not in repr(door) + str(door)

    def test_a_secret_that_is_not_there_is_named_by_its_reference(self, tmp_path: Path) -> None:
        with serve(recording("cisco_ios")) as served:
            result = failed(collect(served, tmp_path, secret="env:NOWHERE_SET"))
        assert result.kind == "secret"
        assert "export NOWHERE_SET" in result.hint
        assert served.passwords == []

    def test_a_small_business_switch_is_told_user_and_password_again_in_its_terminal(
        self, tmp_path: Path, caplog: pytest.LogCaptureFixture
    ) -> None:
        with caplog.at_level(logging.DEBUG), serve(recording("cisco_s300"), Faults(login_again=True)) as served:
            switch = collected(collect(served, tmp_path, want=SYSTEM))
        assert switch.system.name == "workshop"
        assert served.passwords == [PASSWORD, PASSWORD]
        assert PASSWORD not in caplog.text

    def test_another_switch_is_never_told_a_password_in_its_terminal(self, tmp_path: Path) -> None:
        with serve(recording("cisco_ios"), Faults(login_again=True)) as served:
            result = failed(collect(served, tmp_path, budget=5.0))
        assert result.kind in ("no answer", "bad answer")
        assert served.passwords.count(PASSWORD) == 1

    def test_a_login_without_a_command_line_says_so(self, tmp_path: Path) -> None:
        with serve(recording("cisco_ios"), Faults(no_shell=True)) as served:
            result = failed(collect(served, tmp_path))
        assert (result.kind, result.reason) == ("refused", "lets the user log in and gives no command line")

    def test_a_slow_greeting_is_waited_for(self, tmp_path: Path) -> None:
        with serve(recording("linux"), Faults(greet_after=1.0)) as served:
            collected(collect(served, tmp_path, timeout=10, want=frozenset({Table.SYSTEM})))

    def test_a_greeting_slower_than_the_time_out_is_no_answer(self, tmp_path: Path) -> None:
        with serve(recording("linux"), Faults(greet_after=3.0)) as served:
            result = failed(collect(served, tmp_path, timeout=0.5))
        assert (result.kind, result.reason) == ("no answer", "no SSH greeting in time")

    def test_a_closed_port_is_unreachable(self, tmp_path: Path) -> None:
        with serve(recording("linux")) as served:
            pass
        result = failed(collect(served, tmp_path))
        assert (result.kind, result.reason) == ("unreachable", "refuses the connection or has no route")

    def test_the_wrong_platform_is_told_from_a_silent_switch(self, tmp_path: Path) -> None:
        told = {**recording("cisco_ios"), "platform": "linux"}
        with serve(told) as served:
            switch = collected(collect(served, tmp_path, want=frozenset({Table.INTERFACES})))
        assert switch.report(Table.INTERFACES).state is TableState.NOT_SERVED

    def test_a_platform_that_nobody_knows_is_answered_with_those_there_are(self, tmp_path: Path) -> None:
        with serve({**recording("linux"), "platform": "cisco_iosx"}) as served:
            result = failed(collect(served, tmp_path))
        assert "'cisco_iosx'" in result.reason
        assert "cisco_ios, " in result.hint
        assert served.passwords == []


def write_key(folder: Path, key: asyncssh.SSHKey, name: str = "id_switches", passphrase: str | None = None) -> Path:
    path = folder / name
    path.write_bytes(key.export_private_key(passphrase=passphrase, rounds=50))
    path.chmod(0o600)
    return path


SYSTEM = frozenset({Table.SYSTEM})


class TestKeys:
    @pytest.fixture
    def key(self) -> asyncssh.SSHKey:
        return asyncssh.generate_private_key("ssh-ed25519")

    def test_a_key_file_of_the_site_logs_in(self, tmp_path: Path, key: asyncssh.SSHKey) -> None:
        write_key(tmp_path, key)
        with serve(recording("linux"), client_key=key) as served:
            collected(collect(served, tmp_path, secret=None, key_file="id_switches", want=SYSTEM))
        assert served.passwords == []

    def test_the_secret_of_a_key_file_is_its_pass_phrase_and_no_password(
        self, tmp_path: Path, key: asyncssh.SSHKey
    ) -> None:
        write_key(tmp_path, key, passphrase=PASSWORD)
        with serve(recording("linux"), client_key=key) as served:
            collected(collect(served, tmp_path, key_file="id_switches", want=SYSTEM))
        assert served.passwords == []

    def test_a_pass_phrase_that_is_missing_is_asked_for(self, tmp_path: Path, key: asyncssh.SSHKey) -> None:
        write_key(tmp_path, key, passphrase=PASSWORD)
        with serve(recording("linux"), client_key=key) as served:
            result = failed(collect(served, tmp_path, secret=None, key_file="id_switches"))
        assert (result.kind, result.reason) == ("refused", "the key file has a pass phrase")

    def test_a_key_file_that_others_may_read_is_refused(self, tmp_path: Path, key: asyncssh.SSHKey) -> None:
        path = write_key(tmp_path, key)
        path.chmod(0o640)
        with serve(recording("linux"), client_key=key) as served:
            result = failed(collect(served, tmp_path, secret=None, key_file="id_switches"))
        assert (result.kind, result.hint) == ("secret", f"chmod 600 {path}")
        assert stat.S_IMODE(path.stat().st_mode) == 0o640

    def test_a_key_file_that_is_not_there_is_named(self, tmp_path: Path) -> None:
        with serve(recording("linux")) as served:
            result = failed(collect(served, tmp_path, secret=None, key_file="nowhere"))
        assert (result.kind, result.reason) == ("secret", "no such key file")

    def test_with_nothing_named_the_users_own_key_logs_in(self, tmp_path: Path, key: asyncssh.SSHKey) -> None:
        (tmp_path / ".ssh").mkdir()
        write_key(tmp_path / ".ssh", key, "id_ed25519")
        with serve(recording("linux"), client_key=key) as served:
            collected(collect(served, tmp_path, secret=None, want=SYSTEM))

    def test_an_agent_signs_when_it_may(
        self, tmp_path: Path, key: asyncssh.SSHKey, agent: None, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        add_to_agent(key)
        with serve(recording("linux"), client_key=key) as served:
            collected(collect(served, tmp_path, secret=None, agent=True, want=SYSTEM))
            result = failed(collect(served, tmp_path, secret=None, agent=False))
        assert result.kind == "refused"


@pytest.fixture
def agent(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """An SSH agent of this test's own."""
    if not shutil.which("ssh-agent"):
        pytest.skip("ssh-agent is not installed")
    socket = tmp_path / "agent.socket"
    process = subprocess.Popen(["ssh-agent", "-D", "-a", str(socket)], stdout=subprocess.DEVNULL)
    try:
        for _ in range(500):
            if socket.exists():
                break
            time.sleep(0.01)
        monkeypatch.setenv("SSH_AUTH_SOCK", str(socket))
        yield
    finally:
        process.terminate()
        process.wait(10)


def add_to_agent(key: asyncssh.SSHKey) -> None:
    async def add() -> None:
        async with asyncssh.connect_agent(os.environ["SSH_AUTH_SOCK"]) as one:
            await one.add_keys([key])

    asyncio.run(add())


class TestJumpHost:
    def test_the_switch_is_reached_through_it(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setenv("JUMP_PASSWORD", PASSWORD)
        with serve(recording("cisco_ios")) as switch, serve(recording("linux")) as host:
            known = switch.known_hosts_line() + host.known_hosts_line()
            jump = f"{USER}@127.0.0.1:{host.port}"
            result = collect(
                switch, tmp_path, known=known, jump=jump, jump_secret="env:JUMP_PASSWORD", want=frozenset({Table.VLANS})
            )
        assert collected(result).vlans[20] == "wetlab"
        assert host.forwarded == [("127.0.0.1", switch.port)]

    def test_its_own_host_key_is_verified_before_anything_is_sent(self, tmp_path: Path) -> None:
        with serve(recording("cisco_ios")) as switch, serve(recording("linux")) as host:
            jump = f"{USER}@127.0.0.1:{host.port}"
            result = failed(collect(switch, tmp_path, jump=jump, jump_secret="env:SWITCH_PASSWORD"))
        assert f"unknown host key, ssh-ed25519 {host.fingerprint}" in result.reason
        assert (host.passwords, switch.passwords) == ([], [])

    def test_the_switchs_key_is_verified_behind_it_and_accepted_through_it(self, tmp_path: Path) -> None:
        with serve(recording("cisco_ios")) as switch, serve(recording("linux")) as host:
            jump = f"{USER}@127.0.0.1:{host.port}"
            known = host.known_hosts_line()
            result = failed(collect(switch, tmp_path, known=known, jump=jump, jump_secret="env:SWITCH_PASSWORD"))
        assert switch.fingerprint in result.reason
        assert f"-J {jump} -p {switch.port} 127.0.0.1" in result.hint

    def test_it_never_learns_the_password_of_the_switch(self, tmp_path: Path) -> None:
        with serve(recording("cisco_ios")) as switch, serve(recording("linux")) as host:
            known = switch.known_hosts_line() + host.known_hosts_line()
            result = failed(collect(switch, tmp_path, known=known, jump=f"{USER}@127.0.0.1:{host.port}"))
        assert result.kind == "refused"
        assert host.passwords == []

    def test_one_that_passes_nothing_on_is_named(self, tmp_path: Path) -> None:
        with (
            serve(recording("cisco_ios")) as switch,
            serve(recording("linux"), Faults(no_forwarding=True)) as host,
        ):
            known = switch.known_hosts_line() + host.known_hosts_line()
            jump = f"{USER}@127.0.0.1:{host.port}"
            result = failed(collect(switch, tmp_path, known=known, jump=jump, jump_secret="env:SWITCH_PASSWORD"))
        assert result.reason == "passes no connection on to the switch"


def test_many_switches_are_asked_at_once_by_one_collector(tmp_path: Path) -> None:
    with ExitStack() as stack:
        running = [stack.enter_context(serve(recording(name))) for name in platforms.NAMES]
        (tmp_path / "known_hosts").write_text("".join(served.known_hosts_line() for served in running))
        collector = SshCollector()

        async def run() -> list[CollectedSwitch | FailedSwitch]:
            want, quiet = frozenset(Table), Progress()
            asking = [
                collector.collect(access_to(served), secrets_from=tmp_path, want=want, progress=quiet)
                for served in running
            ]
            return await asyncio.gather(*asking)

        results = asyncio.run(run())
    for served, switch in zip(running, results, strict=True):
        expect = served.recording["expect"]
        assert [[*one[:4]] for one in collected(switch).sightings] == expect["sightings"]


class TestTrouble:
    def test_a_connection_dropped_in_a_table_keeps_the_tables_before_it(self, tmp_path: Path) -> None:
        with serve(recording("cisco_ios"), Faults(drop_in="show mac address-table")) as served:
            switch = collected(collect(served, tmp_path))
        assert switch.report(Table.INTERFACES).state is TableState.READ
        forwarding = switch.report(Table.FORWARDING)
        assert forwarding.state is TableState.CUT_SHORT
        assert forwarding.reason == "the switch ended the connection"
        assert not forwarding.whole
        assert len(switch.sightings) == forwarding.rows < 8
        assert switch.report(Table.NEIGHBOURS).state is TableState.CUT_SHORT
        assert switch.neighbours == []

    def test_json_that_was_cut_is_no_table(self, tmp_path: Path) -> None:
        with serve(recording("arista_eos"), Faults(drop_in="show mac address-table | json")) as served:
            switch = collected(collect(served, tmp_path))
        assert switch.report(Table.FORWARDING).state is TableState.CUT_SHORT
        assert switch.sightings == []

    def test_a_connection_dropped_before_any_answer_is_a_failed_switch(self, tmp_path: Path) -> None:
        with serve(recording("arista_eos"), Faults(drop_in="show hostname | json")) as served:
            result = failed(collect(served, tmp_path))
        assert (result.kind, result.reason) == ("no answer", "the switch ended the connection")

    def test_an_answer_that_stops_is_interrupted_and_the_rest_is_asked(self, tmp_path: Path) -> None:
        with serve(recording("cisco_ios"), Faults(hang_in="show mac address-table")) as served:
            switch = collected(collect(served, tmp_path, timeout=1.0))
        assert switch.report(Table.FORWARDING).state is TableState.CUT_SHORT
        assert switch.report(Table.FORWARDING).reason == "1 s of silence"
        assert switch.report(Table.NEIGHBOURS).whole
        assert switch.report(Table.HARDWARE).whole

    def test_a_switch_that_costs_its_whole_budget_hands_over_what_it_gave(self, tmp_path: Path) -> None:
        with serve(recording("cisco_ios"), Faults(hang_in="show mac address-table")) as served:
            switch = collected(collect(served, tmp_path, budget=6.0, timeout=60))
        assert switch.report(Table.INTERFACES).whole
        assert switch.report(Table.FORWARDING).reason == "the time for this switch was used up"
        assert switch.report(Table.NEIGHBOURS).state is TableState.TIMED_OUT
        assert "show lldp neighbors detail" not in served.lines

    def test_an_answer_without_end_is_read_up_to_a_bound(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(ssh, "MAX_ANSWER", 200_000)
        with serve(recording("cisco_ios"), Faults(flood_in="show mac address-table")) as served:
            switch = collected(collect(served, tmp_path, want=frozenset({Table.VLANS, Table.FORWARDING})))
        assert switch.report(Table.VLANS).whole
        assert switch.report(Table.FORWARDING).state is TableState.CUT_SHORT
        assert "longer than" in switch.report(Table.FORWARDING).reason

    def test_a_prompt_in_the_middle_of_a_table_does_not_end_it(self, tmp_path: Path) -> None:
        """A neighbour may call itself what the prompt says."""
        with serve(recording("cisco_ios"), Faults(steps_in="show mac address-table")) as served:
            switch = collected(collect(served, tmp_path, want=frozenset({Table.FORWARDING})))
        assert len(switch.sightings) == 8

    def test_older_software_that_hides_the_local_port_is_asked_for_the_short_list(self, tmp_path: Path) -> None:
        told = recording("cisco_ios")
        detail = told["commands"]["show lldp neighbors detail"]
        told["commands"]["show lldp neighbors detail"] = "\n".join(
            line for line in detail.split("\n") if not line.startswith("Local Intf")
        )
        told["commands"]["show lldp neighbors"] = (
            "Capability codes:\n"
            "    (R) Router, (B) Bridge, (T) Telephone, (C) DOCSIS Cable Device\n"
            "    (W) WLAN Access Point, (P) Repeater, (S) Station, (O) Other\n\n"
            "Device ID           Local Intf     Hold-time  Capability      Port ID\n"
            "core.saltmarsh.examp Gi1/0/25       120        B,R             Gi1/0/1\n"
            "core.saltmarsh.examp Gi1/0/26       120        B,R             Gi1/0/2\n"
            "SEP00005E005306     Gi1/0/6        120        B,T             00005E005306:P1\n\n"
            "Total entries displayed: 3\n"
        )
        with serve(told) as served:
            switch = collected(collect(served, tmp_path, want=frozenset({Table.NEIGHBOURS})))
        assert [one.port for one in switch.neighbours] == ["Gi1/0/25", "Gi1/0/26", "Gi1/0/6"]
        assert [one.chassis_id for one in switch.neighbours][:2] == ["00:00:5e:00:53:90"] * 2

    def test_where_lldp_is_off_the_neighbours_come_by_cdp(self, tmp_path: Path) -> None:
        told = recording("cisco_ios")
        told["commands"]["show lldp neighbors detail"] = "% LLDP is not enabled\n"
        told["commands"]["show cdp neighbors detail"] = (
            "-------------------------\n"
            "Device ID: core.saltmarsh.example\n"
            "Entry address(es): \n"
            "  IP address: 192.0.2.1\n"
            "Platform: cisco C9500-24Y4C,  Capabilities: Router Switch IGMP \n"
            "Interface: GigabitEthernet1/0/25,  Port ID (outgoing port): GigabitEthernet1/0/1\n"
            "Holdtime : 133 sec\n\n"
            "Version :\n"
            "Cisco IOS Software [Fuji], Catalyst L3 Switch Software\n\n"
            "advertisement version: 2\n"
            "Duplex: full\n\n"
            "Total cdp entries displayed : 1\n"
        )
        with serve(told) as served:
            switch = collected(collect(served, tmp_path, want=frozenset({Table.NEIGHBOURS})))
        [one] = switch.neighbours
        assert (one.protocol, one.port, one.system_name) == ("cdp", "Gi1/0/25", "core.saltmarsh.example")
        assert one.capabilities == ["router", "bridge"]

    def test_what_is_not_wanted_is_not_asked(self, tmp_path: Path) -> None:
        with serve(recording("juniper_junos")) as served:
            switch = collected(collect(served, tmp_path, want=frozenset({Table.FORWARDING})))
        shown = [line for line in served.lines if line.startswith("show")]
        # The MAC table prints VLAN names, so it needs the VLANs.
        assert shown == ["show vlans | display json", "show ethernet-switching table | display json"]
        assert switch.tables.keys() == {Table.FORWARDING}
        assert {one.vlan for one in switch.sightings} == {60}

    def test_a_flaw_of_a_reader_costs_its_table_alone(self, tmp_path: Path) -> None:
        platform = platforms.platform("cisco_ios")
        assert platform is not None

        def broken(text: str) -> Any:
            raise KeyError("no such column")

        asks = tuple(
            replace(ask, read=broken, instead=None) if ask.table is Table.VLANS else ask for ask in platform.asks
        )
        with pytest.MonkeyPatch.context() as patch, serve(recording("cisco_ios")) as served:
            patch.setattr(platforms, "platform", lambda name: replace(platform, asks=asks))
            switch = collected(collect(served, tmp_path))
        assert switch.report(Table.VLANS).state is TableState.NOT_SERVED
        assert "reading it failed (KeyError)" in switch.report(Table.VLANS).reason
        assert switch.report(Table.FORWARDING).whole


def test_a_run_that_is_cancelled_lets_go_of_the_switch(tmp_path: Path) -> None:
    with serve(recording("cisco_ios"), Faults(hang_in="show version")) as served:
        (tmp_path / "known_hosts").write_text(served.known_hosts_line())
        fields = {"secret": "env:SWITCH_PASSWORD", "known_hosts": "known_hosts", "timeout": 60}
        access = SwitchAccess(
            name="wet lab",
            address="127.0.0.1",
            ssh=SshAccess(platform="cisco_ios", user=USER, port=served.port, **fields),
        )

        async def run() -> None:
            asking = asyncio.Event()

            def progress(switch: str, doing: str, /) -> None:
                if doing == "system":
                    asking.set()

            work = SshCollector().collect(access, secrets_from=tmp_path, want=frozenset(Table), progress=progress)
            task = asyncio.create_task(work)
            await asyncio.wait_for(asking.wait(), 30)
            task.cancel()
            with pytest.raises(asyncio.CancelledError):
                await task

        asyncio.run(run())
    assert "show interfaces status" not in served.lines
