"""Greps everything that a run leaves behind for every secret that it used, right ones and wrong ones."""

from __future__ import annotations

import asyncio
import base64
import logging
import os
import subprocess
import sys
import tempfile
import traceback
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest

from collectors.access import SnmpAccess, SshAccess, SwitchAccess, resolve_secret
from collectors.errors import CollectError
from collectors.fleet import collect_fleet
from collectors.probe import probe
from collectors.simulator import SimulatedUser, Simulator
from collectors.snapshot import Snapshot
from collectors.snapshot_files import save_snapshot
from collectors.transports.recording import record
from tests.collectors import ssh_server

SECRETS = {
    "COMMUNITY": "tide-table-7-community",
    "WRONG_COMMUNITY": "spring-tide-8-community",
    "AUTH": "barnacle-9-auth-key",
    "WRONG_AUTH": "limpet-10-auth-key",
    "PRIVACY": "kelp-forest-11-privacy",
    "PASSWORD": ssh_server.PASSWORD,
    "WRONG_PASSWORD": "neap-tide-12-password",
}
V3 = {"version": "3", "user": "keeper", "auth": "sha256", "privacy": "aes", "privacy_secret": "env:PRIVACY"}


@pytest.fixture
def fleet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[list[SwitchAccess]]:
    """Switches that let us in and switches that do not, by every way there is."""
    for name, secret in SECRETS.items():
        monkeypatch.setenv(name, secret)
    (tmp_path / "temporary").mkdir()
    monkeypatch.setenv("TMPDIR", str(tmp_path / "temporary"))
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "temporary"))
    recording = tmp_path / "kelp.snmprec"
    recording.write_text("1.3.6.1.2.1.1.1.0|4|Linux kelp\n1.3.6.1.2.1.1.5.0|4|kelp\n1.3.6.1.2.1.31.1.1.1.1.1|4|eth0\n")
    user = SimulatedUser("keeper", "sha256", SECRETS["AUTH"], "aes", SECRETS["PRIVACY"])
    with ExitStack() as running:
        simulator = running.enter_context(Simulator({"kelp": recording}, community=SECRETS["COMMUNITY"], user=user))
        served = running.enter_context(ssh_server.serve(ssh_server.recording("linux")))
        (tmp_path / "known_hosts").write_text(served.known_hosts_line())
        port = simulator.endpoints["kelp"][1]

        def access(name: str, snmp: dict[str, object] | None, password: str = "") -> SwitchAccess:
            quick = {"port": port, "timeout": 0.5, "retries": 0}
            ssh = SshAccess(
                platform="linux",
                user=ssh_server.USER,
                port=served.port,
                secret=f"env:{password or 'PASSWORD'}",
                known_hosts=str(tmp_path / "known_hosts"),
                timeout=5,
            )
            return SwitchAccess(
                name=name,
                address="127.0.0.1",
                snmp=SnmpAccess.model_validate({**quick, **snmp}) if snmp else None,
                ssh=ssh if password else None,
                budget=20,
            )

        yield [
            access("in by both ways", {"community": "env:COMMUNITY"}, "PASSWORD"),
            access("in by version 3", {**V3, "auth_secret": "env:AUTH"}),
            access("wrong community", {"community": "env:WRONG_COMMUNITY"}),
            access("wrong community and password", {"community": "env:WRONG_COMMUNITY"}, "WRONG_PASSWORD"),
            access("wrong key", {**V3, "auth_secret": "env:WRONG_AUTH"}),
        ]


def found_in(content: str | bytes) -> set[str]:
    """Names of the secrets in some content, in any of the spellings that a careless program would leave."""
    octets = content.encode("utf-8", "replace") if isinstance(content, str) else content
    return {
        name
        for name, secret in SECRETS.items()
        for spelled in (secret.encode(), secret.encode().hex().encode(), base64.b64encode(secret.encode()))
        if spelled in octets
    }


def left_in(folder: Path) -> dict[str, set[str]]:
    """Files with a secret in their content or their name."""
    files = {str(path.relative_to(folder)): path for path in folder.rglob("*") if path.is_file()}
    return {name: found for name, path in files.items() if (found := found_in(name) | found_in(path.read_bytes()))}


def test_a_run_leaves_no_secret_in_snapshot_recordings_logs_errors_or_reprs(
    fleet: list[SwitchAccess], tmp_path: Path, caplog: pytest.LogCaptureFixture, capfd: pytest.CaptureFixture[str]
) -> None:
    caplog.set_level(logging.DEBUG)
    told: list[str] = [repr(fleet)]

    async def run() -> Snapshot:
        return await collect_fleet(
            fleet, site="lab", secrets_from=tmp_path, progress=lambda progress: told.append(repr(progress))
        )

    snapshot = asyncio.run(run())
    assert [switch.name for switch in snapshot.switches] == ["in by both ways", "in by version 3"]
    assert [failed.name for failed in snapshot.failed] == [access.name for access in fleet[2:]]
    save_snapshot(snapshot, tmp_path / "snapshot.json")
    told += [repr(snapshot), *(repr(asyncio.run(probe(access, tmp_path))) for access in fleet)]
    for access in fleet:
        try:
            asyncio.run(record(access, tmp_path / "recordings", secrets_from=tmp_path))
        except CollectError as error:
            told.append("".join(traceback.format_exception(error)))
    assert (tmp_path / "recordings" / "switch-1.snmprec").exists()
    assert (tmp_path / "recordings" / "switch-1.ssh.json").exists()

    assert caplog.text  # asyncssh and paramiko have said something at this level
    assert found_in(caplog.text) == set()
    assert found_in("".join(capfd.readouterr())) == set()
    assert found_in("\n".join(told)) == set()
    held = left_in(tmp_path)
    simulated = {name for name in held if name.startswith("temporary/toneout-simulator-")}
    assert simulated  # what the simulated switches need to know themselves: the search does find secrets
    assert held.keys() - simulated == set()


def test_a_secret_that_cannot_be_resolved_is_named_by_its_reference_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    open_to_all = tmp_path / "community"
    open_to_all.write_text(SECRETS["COMMUNITY"])
    open_to_all.chmod(0o644)
    monkeypatch.delenv("NOT_SET", raising=False)
    for reference in ("file:community", "file:none", "env:NOT_SET", "keyring:toneout/none"):
        with pytest.raises(CollectError, match=reference) as caught:
            resolve_secret(reference, tmp_path)
        assert found_in(str(caught.value)) == set()


def test_the_commands_leave_no_secret_on_the_terminal_or_in_the_site_folder(
    fleet: list[SwitchAccess], tmp_path: Path
) -> None:
    site = tmp_path / "site"
    site.mkdir()
    switches = "".join(
        f'[[switch]]\nname = "{access.name}"\naddress = "127.0.0.1"\n{_tables(access)}' for access in fleet
    )
    (site / "toneout.toml").write_text(f'[site]\nname = "lab"\n[map]\npath = "map"\n{switches}')
    (site / "map").mkdir()
    (site / "map" / "switches.csv").write_text("name\n" + "".join(f"{access.name}\n" for access in fleet))
    command = [str(Path(sys.executable).with_name("toneout")), "--verbose", "--site", str(site)]
    for words in (["collect"], ["reconcile"], ["probe", fleet[0].name], ["probe", fleet[2].name]):
        done = subprocess.run([*command, *words], capture_output=True, text=True, env=os.environ, check=False)
        assert found_in(done.stdout + done.stderr) == set(), words
        assert "Traceback" not in done.stderr
    assert list((site / "snapshots").iterdir())
    assert left_in(site) == {}


def _tables(access: SwitchAccess) -> str:
    """The inline tables of toneout.toml for one switch."""

    def table(fields: dict[str, object]) -> str:
        said = (
            f"{key} = {value if isinstance(value, int | float) else chr(34) + str(value) + chr(34)}"
            for key, value in fields.items()
        )
        return "{ " + ", ".join(said) + " }"

    ways = (("snmp", access.snmp), ("ssh", access.ssh))
    return "".join(f"{way} = {table(how.model_dump(exclude_defaults=True))}\n" for way, how in ways if how is not None)
