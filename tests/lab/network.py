"""A live network in namespaces: switches that are Linux bridges with real snmpd, lldpd and sshd, hosts, and cables.

    with Network() as network:
        network.add_switch("sw-a", ports=4)
        network.add_host("desk", lldp=True)
        network.cable(("sw-a", "swp1"), ("desk", "eth0"))
        network.move(("desk", "eth0"), ("sw-a", "swp3"))

Sockets exist without a cable, as in a real switch: each is one end of a veth pair whose other end lies in a hidden
room; a cable joins two of these by a bridge that lets LLDP pass, and an unplugged socket has no carrier.
The `tester` namespace reaches each switch over a management link of its own.
"""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import socket
import subprocess
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from types import TracebackType
from typing import Any, Self, TypeVar

from collectors.access import SnmpAccess, SshAccess, SwitchAccess
from tests.lab.namespaces import Namespaces, run, wait_until

TOOLS = ("ip", "bridge", "snmpd", "snmpget", "snmpwalk", "lldpd", "lldpcli", "sshd", "ssh-keygen", "unshare")
COMMUNITY = "tide-table-7"
COMMUNITY_VARIABLE = "TONEOUT_LAB_COMMUNITY"
V3_USER = "keeper"
V3_KEYS = {"TONEOUT_LAB_AUTH": "barnacle-sha-1234", "TONEOUT_LAB_PRIVACY": "limpet-aes-5678"}
_ROOM = "room"
TESTER = "tester"

Socket = tuple[str, str]
"""A node and one of its interfaces."""

T = TypeVar("T")


def missing() -> str:
    """What this machine lacks for the lab, in words; empty when nothing."""
    if os.geteuid() != 0:
        return "the lab needs root"
    path = os.pathsep.join([os.environ.get("PATH", ""), "/usr/sbin", "/sbin"])
    lacking = [tool for tool in TOOLS if not shutil.which(tool, path=path)]
    return f"the lab needs {', '.join(lacking)}" if lacking else ""


@dataclass
class Node:
    """A switch or a host. `macs` by interface."""

    name: str
    macs: dict[str, str]
    address: str = ""
    """Of a switch: where the tester reaches it."""
    folder: Path = Path()
    daemons: list[subprocess.Popen[bytes]] = field(default_factory=list)


class Network:
    """Builds, changes and removes the network. Everything is gone when its `with` block ends."""

    def __enter__(self) -> Self:
        self.namespaces = Namespaces()
        self.nodes: dict[str, Node] = {}
        self._cables: dict[Socket, Socket] = {}
        self._outer: dict[Socket, str] = {}
        self._macs = iter(range(256))
        try:
            self.namespaces.make(_ROOM)
            self.namespaces.make(TESTER)
            self._make_user_key()
        except BaseException:
            self.namespaces.close()
            raise
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        for node in self.nodes.values():
            for daemon in node.daemons:
                daemon.terminate()
        self.namespaces.close()
        for node in self.nodes.values():
            for daemon in node.daemons:
                daemon.wait()

    # Building

    def add_switch(self, name: str, ports: int = 6, *, managed: bool = True, lldp: bool = True) -> Node:
        """A bridge `br0` over `swp1` ...; a managed one answers SNMP and SSH, and `lldp` speaks with its neighbours."""
        node = self._add_node(name, [f"swp{number}" for number in range(1, ports + 1)])
        self.namespaces.ip(name, "link", "add", "br0", "address", self._mac(), "type", "bridge", "forward_delay", "0")
        for port in list(node.macs):
            self.namespaces.ip(name, "link", "set", port, "master", "br0")
        self.namespaces.ip(name, "link", "set", "br0", "up")
        if managed:
            self._manage(node)
            self._start_snmpd(node)
            self._start_sshd(node)
        if lldp:
            self._start_lldpd(node, ["-I", "swp*", "-C", "swp*", *(["-m", node.address] if managed else [])])
            if managed:
                self._start_subagent_wait(node)
        return node

    def add_host(self, name: str, *, lldp: bool = False, mac: str | None = None) -> Node:
        """A device with one interface, `eth0`, that broadcasts when `speak` says so; `lldp` gives it a real lldpd."""
        node = self._add_node(name, ["eth0"], mac)
        number = len(self.nodes)
        self.namespaces.ip(name, "address", "add", f"10.77.0.{number}/24", "broadcast", "10.77.0.255", "dev", "eth0")
        if lldp:
            self._start_lldpd(node, ["-I", "eth0", "-C", "eth0"])
        return node

    def cable(self, one: Socket, other: Socket) -> None:
        """Plugs a cable into two free sockets."""
        taken = [end for end in (one, other) if end in self._cables]
        if taken:
            raise ValueError(f"{taken[0]} has a cable already")
        joint = f"c{self._outer[one]}"
        self.namespaces.ip(
            _ROOM, "link", "add", joint, "type", "bridge", "group_fwd_mask", "0x4000", "mcast_snooping", "0"
        )
        for end in (one, other):
            self.namespaces.ip(_ROOM, "link", "set", self._outer[end], "master", joint, "up")
        self.namespaces.ip(_ROOM, "link", "set", joint, "up")
        self._cables[one], self._cables[other] = other, one
        for end in (one, other):
            self._wait_carrier(end, up=True)

    def unplug(self, end: Socket) -> None:
        """Pulls the cable at `end` out at both ends."""
        other = self._cables.pop(end)
        del self._cables[other]
        for socket_ in (end, other):
            self.namespaces.ip(_ROOM, "link", "set", self._outer[socket_], "nomaster", "down")
            self.namespaces.ip(_ROOM, "link", "del", f"c{self._outer[socket_]}", check=False)
        for socket_ in (end, other):
            self._wait_carrier(socket_, up=False)

    def move(self, end: Socket, to: Socket) -> None:
        """Pulls the far end of the cable at `end` out of its socket and plugs it into `to`."""
        self.unplug(end)
        self.cable(end, to)

    def speak(self, *hosts: str) -> None:
        """Each host broadcasts one frame, from which every switch learns where it is."""
        for host in hosts:
            self.namespaces.inside(host, _broadcast)

    # Asking

    def run(self, node: str, *words: str) -> str:
        """Standard output of a command inside a node, as its own programs see the world."""
        return run(*self.namespaces.command(node, self._as_node(self.nodes[node], words)))

    def json(self, node: str, *words: str) -> Any:
        """The same, read as JSON."""
        return json.loads(self.run(node, *words))

    def as_tester(self, function: Callable[[], T]) -> T:
        """Calls `function` where the switches' management addresses can be reached."""
        return self.namespaces.inside(TESTER, function)

    def tester_command(self, *words: str) -> list[str]:
        """The command that runs `words` where the switches' management addresses can be reached."""
        return self.namespaces.command(TESTER, words)

    def access(self, switch: str, *ways: str, version: str = "2c") -> SwitchAccess:
        """How to ask a switch, by `snmp`, `ssh` or both; see `secrets` for the environment that this needs."""
        snmp: dict[str, Any] = {"version": version, "community": f"env:{COMMUNITY_VARIABLE}", "timeout": 1.0}
        if version == "3":
            auth, privacy = V3_KEYS
            snmp |= {"user": V3_USER, "auth": "sha256", "privacy": "aes", "community": None}
            snmp |= {"auth_secret": f"env:{auth}", "privacy_secret": f"env:{privacy}"}
        ssh = {
            "platform": "linux",
            "user": "root",
            "key_file": str(self.namespaces.folder / "key"),
            "known_hosts": str(self.namespaces.folder / "known_hosts"),
        }
        return SwitchAccess(
            name=switch,
            address=self.nodes[switch].address,
            snmp=SnmpAccess(**snmp) if "snmp" in ways else None,
            ssh=SshAccess(**ssh) if "ssh" in ways else None,
            budget=30,
        )

    @staticmethod
    def secrets() -> dict[str, str]:
        """The environment variables that `access` refers to."""
        return {COMMUNITY_VARIABLE: COMMUNITY, **V3_KEYS}

    def neighbours(self, node: str) -> list[tuple[str, str]]:
        """Port and name of each neighbour, as the node's own lldpd tells."""
        told = self.json(node, "lldpcli", "-f", "json0", "show", "neighbors")["lldp"][0].get("interface", [])
        return sorted((row["name"], row["chassis"][0].get("name", [{}])[0].get("value", "")) for row in told)

    def stations(self, switch: str) -> dict[str, str]:
        """MAC address to port, as the switch's own forwarding table tells; its own addresses left out."""
        rows = self.json(switch, "bridge", "-j", "fdb", "show", "br", "br0")
        return {row["mac"]: row["ifname"] for row in rows if row.get("state") != "permanent"}

    def states(self, switch: str) -> dict[str, str]:
        """By socket of a switch: `up` or `down`, as its own kernel tells."""
        rows = self.json(switch, "ip", "-j", "link", "show")
        return {row["ifname"]: row["operstate"].lower() for row in rows if row["ifname"] in self.nodes[switch].macs}

    def settle(self, **neighbours: dict[str, str]) -> None:
        """Waits until every named switch sees exactly these neighbours, port to name, and its agent knows its ports.

        lldpd speaks once a second here; snmpd keeps what it knows of its interfaces for three.
        """
        for name, wanted in neighbours.items():
            switch = name.replace("_", "-")
            wait_until(partial(self._sees, switch, wanted), f"{switch} sees {wanted}")
            wait_until(partial(self._agent_is_current, switch), f"snmpd of {switch} knows the state of its ports")

    def _sees(self, switch: str, wanted: dict[str, str]) -> bool:
        return self.neighbours(switch) == sorted(wanted.items())

    def _agent_is_current(self, switch: str) -> bool:
        """ifOperStatus against the kernel; ports are told apart by ifDescr (RFC 2863), 1 is up."""
        if not self.nodes[switch].address:
            return True
        names, states = (self._walk(switch, f"1.3.6.1.2.1.2.2.1.{column}") for column in (2, 8))
        told = {name: "up" if state == "1" else "down" for name, state in zip(names, states, strict=False)}
        return self.states(switch).items() <= told.items()

    def _walk(self, switch: str, oid: str) -> list[str]:
        asking = ["snmpwalk", "-v2c", f"-c{COMMUNITY}", "-t1", "-r0", "-Oqv", self.nodes[switch].address, oid]
        return run(*self.tester_command(*asking), check=False).replace('"', "").split()

    # The parts

    def _add_node(self, name: str, interfaces: Sequence[str], mac: str | None = None) -> Node:
        folder = self.namespaces.folder / name
        for part in ("run/lldpd", "run/sshd", "snmp"):
            (folder / part).mkdir(parents=True, mode=0o755)
        self.namespaces.make(name)
        node = self.nodes[name] = Node(name, {}, folder=folder)
        for interface in interfaces:
            outer = f"p{len(self._outer)}"
            node.macs[interface] = mac or self._mac()
            self.namespaces.ip(
                _ROOM,
                *("link", "add", outer, "type", "veth", "peer", "name", interface),
                *("address", node.macs[interface], "netns", self.namespaces.name(name)),
            )
            self.namespaces.ip(name, "link", "set", interface, "up")
            self._outer[name, interface] = outer
        return node

    def _mac(self) -> str:
        """From the block for documentation, 00-00-5E-00-53-00 to -FF (RFC 9542 section 2.1.2)."""
        return f"00:00:5e:00:53:{next(self._macs):02x}"

    def _wait_carrier(self, end: Socket, *, up: bool) -> None:
        """Until the kernel has noticed on both sides of the socket, and a bridge that it belongs to passes frames."""
        node, interface = end
        state = "up" if up else "down"
        for where, link in ((node, interface), (_ROOM, self._outer[end])):
            wait_until(partial(self._is, where, link, up=up), f"{node} {interface} is {state}")

    def _is(self, node: str, interface: str, *, up: bool) -> bool:
        link = json.loads(self.namespaces.ip(node, "-j", "-d", "link", "show", interface))[0]
        if not up:
            return bool(link["operstate"] == "DOWN")
        port = link.get("linkinfo", {}).get("info_slave_data", {"state": "forwarding"})
        return bool(link["operstate"] == "UP" and port["state"] == "forwarding")

    def _manage(self, node: Node) -> None:
        number = sum(bool(other.address) for other in self.nodes.values()) + 1
        node.address, mine, outer = f"10.99.{number}.2", f"10.99.{number}.1", f"mgmt{number}"
        self.namespaces.ip(
            TESTER,
            *("link", "add", outer, "type", "veth", "peer", "name", "mgmt0"),
            *("address", self._mac(), "netns", self.namespaces.name(node.name)),
        )
        for where, interface, address in ((TESTER, outer, mine), (node.name, "mgmt0", node.address)):
            self.namespaces.ip(where, "address", "add", f"{address}/30", "dev", interface)
            self.namespaces.ip(where, "link", "set", interface, "up")

    def _as_node(self, node: Node, words: Sequence[str]) -> list[str]:
        """In the node's own host name and /run, where its daemons keep their sockets."""
        script = 'mount --bind "$1" /run && hostname "$2" && shift 2 && exec "$@"'
        return ["unshare", "--uts", "--mount", "sh", "-c", script, "sh", str(node.folder / "run"), node.name, *words]

    def _start(self, node: Node, *words: str) -> None:
        with (node.folder / f"{Path(words[0]).name}.log").open("wb") as log:
            node.daemons.append(
                subprocess.Popen(
                    self.namespaces.command(node.name, self._as_node(node, words)),
                    env={**os.environ, "SNMP_PERSISTENT_DIR": str(node.folder / "snmp"), "MIBS": ""},
                    stdin=subprocess.DEVNULL,
                    stdout=log,
                    stderr=subprocess.STDOUT,
                    start_new_session=True,  # Ctrl-C is for the tests, which then end these
                )
            )

    def _start_snmpd(self, node: Node) -> None:
        auth, privacy = V3_KEYS.values()
        (node.folder / "snmpd.conf").write_text(
            f"agentaddress udp:{node.address}:161\n"
            f"rocommunity {COMMUNITY}\n"
            f'createUser {V3_USER} SHA-256 "{auth}" AES "{privacy}"\n'
            f"rouser {V3_USER} authpriv\n"
            "sysLocation Saltmarsh Field Station\n"
            "master agentx\n"
            f"agentXSocket unix:{node.folder}/run/agentx\n"
        )
        self._start(node, "snmpd", "-f", "-Lo", "-C", "-c", str(node.folder / "snmpd.conf"), "-p", "/run/snmpd.pid")
        self._wait_file(node, "agentx")

    def _start_lldpd(self, node: Node, options: Sequence[str]) -> None:
        (node.folder / "lldpd.conf").write_text("configure lldp tx-interval 1\nconfigure lldp tx-hold 3\n")
        agentx = ["-x", "-X", "unix:/run/agentx"] if node.address else []
        self._start(node, "lldpd", "-d", "-O", str(node.folder / "lldpd.conf"), *agentx, *options)
        self._wait_file(node, "lldpd.socket")

    def _start_subagent_wait(self, node: Node) -> None:
        """lldpLocChassisIdSubtype of LLDP-MIB is served once lldpd has registered with snmpd."""
        asking = ["snmpget", "-v2c", f"-c{COMMUNITY}", "-t1", "-r0", "-Oqv", node.address, "1.0.8802.1.1.2.1.3.1.0"]
        wait_until(
            lambda: run(*self.tester_command(*asking), check=False).strip().isdigit(), f"{node.name} serves LLDP-MIB"
        )

    def _start_sshd(self, node: Node) -> None:
        key = node.folder / "host_key"
        run("ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", str(key))
        kind, value, *_ = key.with_suffix(".pub").read_text().split()
        with (self.namespaces.folder / "known_hosts").open("a") as known:
            known.write(f"{node.address} {kind} {value}\n")
        (node.folder / "sshd_config").write_text(
            f"ListenAddress {node.address}\nHostKey {key}\nPidFile none\nStrictModes no\nUsePAM no\n"
            f"AuthorizedKeysFile {self.namespaces.folder}/key.pub\nPasswordAuthentication no\n"
            "PermitRootLogin prohibit-password\nPrintMotd no\nPrintLastLog no\n"
        )
        sshd = shutil.which("sshd") or "/usr/sbin/sshd"  # sshd re-runs itself and wants its full path
        self._start(node, sshd, "-D", "-e", "-f", str(node.folder / "sshd_config"))

        def listens() -> bool:
            with contextlib.suppress(OSError), socket.create_connection((node.address, 22), 1):
                return True
            return False

        wait_until(lambda: self.as_tester(listens), f"{node.name} takes SSH connections")

    def _make_user_key(self) -> None:
        run("ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", str(self.namespaces.folder / "key"))

    def _wait_file(self, node: Node, name: str) -> None:
        def there() -> bool:
            ended = [daemon for daemon in node.daemons if daemon.poll() is not None]
            if ended:
                logs = "".join(path.read_text("utf-8", "replace")[-600:] for path in node.folder.glob("*.log"))
                raise RuntimeError(f"{node.name}: a daemon ended: {logs}")
            return (node.folder / "run" / name).exists()

        wait_until(there, f"{node.name} has {name}")


def _broadcast() -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as speaking:
        speaking.setsockopt(socket.SOL_SOCKET, socket.SO_BROADCAST, 1)
        speaking.sendto(b"hello", ("10.77.0.255", 9))  # the discard port, RFC 863
