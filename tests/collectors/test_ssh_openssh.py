"""A real OpenSSH server on loopback and a real shell behind it, asked as platform linux.

`ip`, `bridge` and lldpd answer for themselves: what they print here is the truth that the collector must give.
"""

from __future__ import annotations

import asyncio
import getpass
import json
import os
import shutil
import socket
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from collectors.access import SshAccess, SwitchAccess
from collectors.snapshot import CollectedSwitch, FailedSwitch, Table, TableState
from collectors.ssh_collector import SshCollector

SSHD = shutil.which("sshd", path="/usr/sbin:/usr/local/sbin:/sbin:/usr/bin")

pytestmark = [
    pytest.mark.skipif(SSHD is None, reason="sshd is not installed"),
    pytest.mark.skipif(shutil.which("ip") is None, reason="iproute2 is not installed"),
    pytest.mark.skipif(shutil.which("ssh-keygen") is None, reason="ssh-keygen is not installed"),
]

_CONFIG = """\
Port {port}
{listen}
HostKey {folder}/host_key
PidFile {folder}/sshd.pid
AuthorizedKeysFile {folder}/authorized_keys
PasswordAuthentication no
KbdInteractiveAuthentication no
UsePAM no
StrictModes no
PermitRootLogin prohibit-password
PrintMotd no
"""


def _has_ipv6() -> bool:
    try:
        with socket.socket(socket.AF_INET6) as probe:
            probe.bind(("::1", 0))
    except OSError:
        return False
    return True


LOOPBACKS = ["127.0.0.1", *(["::1"] if _has_ipv6() else [])]
"""As far as this machine has them: a kernel may have been built without IPv6."""


def _key(path: Path) -> None:
    subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", str(path)], check=True)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@pytest.fixture(scope="module")
def sshd(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, int]]:
    """The folder with keys and known_hosts, and the port where a server of this test's own listens."""
    folder = tmp_path_factory.mktemp("sshd")
    _key(folder / "host_key")
    _key(folder / "user_key")
    (folder / "authorized_keys").write_text((folder / "user_key.pub").read_text())
    port = _free_port()
    listen = "\n".join(f"ListenAddress {address}" for address in LOOPBACKS)
    (folder / "sshd_config").write_text(_CONFIG.format(port=port, folder=folder, listen=listen))
    kind, blob = (folder / "host_key.pub").read_text().split()[:2]
    (folder / "known_hosts").write_text("".join(f"[{address}]:{port} {kind} {blob}\n" for address in LOOPBACKS))
    if os.getuid() == 0:
        Path("/run/sshd").mkdir(exist_ok=True)  # as root, OpenSSH wants its empty folder there
    assert SSHD is not None
    log = (folder / "sshd.log").open("wb")
    process = subprocess.Popen([SSHD, "-D", "-e", "-f", str(folder / "sshd_config")], stderr=log)
    try:
        for _ in range(500):
            assert process.poll() is None, (folder / "sshd.log").read_text()
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", port)) == 0:
                    break
            time.sleep(0.02)
        yield folder, port
    finally:
        process.terminate()
        process.wait(20)
        log.close()


@pytest.fixture(scope="module")
def asked(sshd: tuple[Path, int]) -> CollectedSwitch:
    folder, port = sshd
    result = ask(folder, port, known_hosts="known_hosts")
    assert isinstance(result, CollectedSwitch), result
    return result


def ask(folder: Path, port: int, known_hosts: str, address: str = "127.0.0.1") -> CollectedSwitch | FailedSwitch:
    access = SwitchAccess(
        name="this machine",
        address=address,
        ssh=SshAccess(
            platform="linux", user=getpass.getuser(), port=port, key_file="user_key", known_hosts=known_hosts
        ),
    )
    want = frozenset(Table)
    return asyncio.run(
        SshCollector().collect(access, secrets_from=folder, want=want, progress=lambda switch, doing: None)
    )


@pytest.mark.parametrize("address", LOOPBACKS)
def test_the_server_is_known_by_its_key_at_addresses_of_both_families(address: str, sshd: tuple[Path, int]) -> None:
    folder, port = sshd
    assert isinstance(ask(folder, port, "known_hosts", address), CollectedSwitch)
    (folder / "nobody").write_text("")
    stranger = ask(folder, port, "nobody", address)
    assert isinstance(stranger, FailedSwitch)
    command = stranger.hint.partition("then: ")[2]
    subprocess.run(["sh", "-c", command], check=True, capture_output=True)  # what the hint says is what helps
    assert isinstance(ask(folder, port, "nobody", address), CollectedSwitch)


def test_the_ports_are_those_that_ip_link_shows(asked: CollectedSwitch) -> None:
    shown = json.loads(subprocess.run(["ip", "-j", "link"], capture_output=True, check=True).stdout)
    told = {port.name: (port.if_index, port.mac, port.admin) for port in asked.ports}
    assert told == {
        one["ifname"]: (
            one["ifindex"],
            one["address"] if one["link_type"] == "ether" else None,
            "up" if "UP" in one["flags"] else "down",
        )
        for one in shown
    }
    assert asked.report(Table.INTERFACES).state is TableState.READ


def test_the_machine_calls_itself_by_its_host_name(asked: CollectedSwitch) -> None:
    assert asked.system.name == socket.gethostname()
    assert asked.system.descr.startswith("Linux ")


def test_neighbour_addresses_are_those_that_ip_neigh_shows(asked: CollectedSwitch) -> None:
    shown = json.loads(subprocess.run(["ip", "-j", "neigh"], capture_output=True, check=True).stdout)
    assert {row.ip for row in asked.addresses} <= {one["dst"] for one in shown if "lladdr" in one}


def test_neighbours_are_read_or_refused_as_lldpcli_itself_fares(asked: CollectedSwitch) -> None:
    command = ["sh", "-c", "lldpcli -f json0 show neighbors details"]
    works = subprocess.run(command, capture_output=True).returncode == 0
    report = asked.report(Table.NEIGHBOURS)
    if works:
        assert report.state in (TableState.READ, TableState.EMPTY)
    else:
        assert report.state in (TableState.NOT_SERVED, TableState.REFUSED)
        assert "lldp" in report.reason


def test_the_fingerprint_in_the_refusal_is_the_one_that_ssh_keygen_prints(sshd: tuple[Path, int]) -> None:
    folder, port = sshd
    (folder / "empty").write_text("")
    result = ask(folder, port, known_hosts="empty")
    assert isinstance(result, FailedSwitch)
    listed = subprocess.run(["ssh-keygen", "-lf", str(folder / "host_key.pub")], capture_output=True, check=True)
    assert listed.stdout.decode().split()[1] in result.reason


def test_the_command_in_the_refusal_makes_the_next_contact_work(sshd: tuple[Path, int]) -> None:
    folder, port = sshd
    if shutil.which("ssh-keyscan") is None:
        pytest.skip("ssh-keyscan is not installed")
    (folder / "by_scan").write_text("")
    refused = ask(folder, port, known_hosts="by_scan")
    assert isinstance(refused, FailedSwitch)
    command = refused.hint.partition("then: ")[2]
    subprocess.run(["sh", "-c", command], check=True, capture_output=True)
    assert isinstance(ask(folder, port, known_hosts="by_scan"), CollectedSwitch)
