"""SNMPv3: keys by the published vectors, and a real agent (net-snmp's snmpd) with a user of every kind."""

from __future__ import annotations

import asyncio
import os
import shutil
import socket
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

import pytest
from pydantic import SecretStr

from collectors.access import SwitchAccess
from collectors.snapshot import CollectedSwitch, FailedSwitch, Table, TableState
from collectors.snmp_collector import SnmpCollector
from collectors.transports import snmp_ber as ber
from collectors.transports.snmp_ber import Unusual
from collectors.transports.snmp_envelopes import UNKNOWN_ENGINE, report_of
from collectors.transports.snmp_usm import DIGEST_OCTETS, Auth, Cipher, Privacy, key_of_password, localized_key
from collectors.transports.snmp_v3 import User, UsmEnvelope

ENGINE = bytes.fromhex("000000000000000000000002")
AUTHS: tuple[Auth, ...] = get_args(Auth)
PRIVACIES: tuple[Privacy, ...] = get_args(Privacy)


@pytest.mark.parametrize(
    ("auth", "key", "localized"),
    [
        # RFC 3414 A.3.1 and A.3.2: password "maplesyrup", engine ID 00 .. 02
        ("md5", "9faf3283884e92834ebc9847d8edd963", "526f5eed9fcce26f8964c2930787d82b"),
        ("sha1", "9fb5cc0381497b3793528939ff788d5d79145211", "6695febc9288e36282235fc7151f128497b38f3f"),
        # Derived by the same algorithm with SHA-256 (RFC 7860 has no vectors of its own)
        ("sha256", None, "8982e0e549e866db361a6b625d84cccc11162d453ee8ce3a6445c2d6776f0f8b"),
    ],
)
def test_keys_are_derived_as_rfc_3414_a_3_publishes_them(auth: Auth, key: str | None, localized: str) -> None:
    if key:
        assert key_of_password(auth, "maplesyrup").hex() == key
    assert localized_key(auth, "maplesyrup", ENGINE).hex() == localized


def test_digests_have_the_octets_that_the_standards_give_them() -> None:
    """RFC 3414 6.1 and 7.1: 12; RFC 7860 4.1: 128, 192, 256, 384 bits."""
    assert [DIGEST_OCTETS[auth] for auth in ("md5", "sha1", "sha224", "sha256", "sha384", "sha512")] == [
        12, 12, 16, 24, 32, 48,
    ]  # fmt: skip


@pytest.mark.parametrize("auth", AUTHS)
@pytest.mark.parametrize("privacy", PRIVACIES)
def test_what_is_encrypted_is_decrypted(auth: Auth, privacy: Privacy) -> None:
    cipher = Cipher(privacy, auth, "privpass1", ENGINE)
    encrypted, salt = cipher.encrypt(b"sixteen octets!!", 3, 4711)
    assert encrypted[:16] != b"sixteen octets!!"
    assert cipher.decrypt(encrypted, salt, 3, 4711)[:16] == b"sixteen octets!!"


def test_octets_that_the_cipher_never_makes_are_unusual() -> None:
    cipher = Cipher("des", "md5", "privpass1", ENGINE)
    for encrypted, salt in ((b"short", bytes(8)), (bytes(16), b"salt")):
        with pytest.raises(Unusual):
            cipher.decrypt(encrypted, salt, 1, 1)


PASSWORDS = {"TONEOUT_TEST_COMMUNITY": "beside"} | {
    "TONEOUT_TEST_AUTH": "authpass1",
    "TONEOUT_TEST_PRIVACY": "privpass1",
    "TONEOUT_TEST_WRONG": "wrongpass1",
}
NAMES = {
    "md5": "MD5",
    "sha1": "SHA",
    "sha224": "SHA-224",
    "sha256": "SHA-256",
    "sha384": "SHA-384",
    "sha512": "SHA-512",
}


def _has_ipv6() -> bool:
    try:
        with socket.socket(socket.AF_INET6, socket.SOCK_DGRAM) as probe:
            probe.bind(("::1", 0))
    except OSError:
        return False
    return True


LOOPBACKS = ["127.0.0.1", "localhost", *(["::1"] if _has_ipv6() else [])]
"""As far as this machine has them: a kernel may have been built without IPv6."""


@pytest.fixture(scope="module")
def agent(tmp_path_factory: pytest.TempPathFactory) -> Iterator[int]:
    """The port of a real snmpd on loopback, with a user for each pair of protocols and one without any."""
    program = shutil.which("snmpd", path=os.environ["PATH"] + ":/usr/sbin")
    if program is None:
        pytest.skip("snmpd is not installed (Debian package snmpd)")
    folder = tmp_path_factory.mktemp("snmpd")
    port = free_port()
    users = [(f"{auth}{privacy}", auth, privacy) for auth in AUTHS for privacy in PRIVACIES]
    doors = [f"udp:127.0.0.1:{port}", *([f"udp6:[::1]:{port}"] if "::1" in LOOPBACKS else [])]
    lines = [
        f"agentaddress {','.join(doors)}",
        "rocommunity beside",
        "rocommunity6 beside",
        "sysName wetlab-sw1",
        "createUser open",
        "rouser open noauth",
    ]
    for name, auth, privacy in users:
        lines += [f'createUser {name} {NAMES[auth]} "authpass1" {privacy.upper()} "privpass1"', f"rouser {name} noauth"]
    (folder / "snmpd.conf").write_text("\n".join(lines) + "\n")
    with (folder / "log").open("wb") as log:
        child = subprocess.Popen(
            [program, "-f", "-Lo", "-C", "-c", str(folder / "snmpd.conf"), "-I", "-smux"],
            env=os.environ | {"SNMP_PERSISTENT_DIR": str(folder), "MIBS": ""},
            stdout=log,
            stderr=subprocess.STDOUT,
        )
    try:
        wait_for_answers(port, child)
        yield port
    finally:
        child.terminate()
        child.wait(10)


def free_port() -> int:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def wait_for_answers(port: int, child: subprocess.Popen[bytes]) -> None:
    """Until the agent answers the discovery of RFC 3414 section 4."""
    question = UsmEnvelope(User("open")).wrap(ber.GET, 1, [], 0, "")
    deadline = time.monotonic() + 30
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        asking.settimeout(0.2)
        asking.connect(("127.0.0.1", port))
        while True:
            assert child.poll() is None, "snmpd ended early"
            assert time.monotonic() < deadline, "snmpd does not answer"
            try:
                asking.send(question)
                asking.recv(2000)
            except OSError:
                time.sleep(0.05)
            else:
                return


def collect(port: int, address: str = "127.0.0.1", **snmp: Any) -> CollectedSwitch | FailedSwitch:
    os.environ.update(PASSWORDS)
    settings = {"version": "3", "port": port, "timeout": 1, "retries": 2} | snmp
    access = SwitchAccess.model_validate({"name": "wetlab-sw1", "address": address, "snmp": settings})
    return asyncio.run(
        SnmpCollector().collect(access, secrets_from=Path(), want=frozenset(Table), progress=lambda switch, doing: None)
    )


AUTH = {"auth_secret": "env:TONEOUT_TEST_AUTH"}
PRIVACY = {"privacy_secret": "env:TONEOUT_TEST_PRIVACY"}


def check_read(found: CollectedSwitch | FailedSwitch) -> None:
    assert isinstance(found, CollectedSwitch), found
    assert found.system.name == "wetlab-sw1"
    assert any(port.name == "lo" for port in found.ports)
    assert found.report(Table.INTERFACES).state is TableState.READ
    assert found.report(Table.FORWARDING).state is TableState.NOT_SERVED
    assert found.report(Table.INTERFACES).source == "snmp 3"


def test_a_real_agent_answers_a_user_without_secrets(agent: int) -> None:
    check_read(collect(agent, user="open"))


@pytest.mark.parametrize("address", LOOPBACKS)
def test_a_real_agent_answers_at_a_name_and_at_addresses_of_both_families(address: str, agent: int) -> None:
    check_read(collect(agent, address, user="open"))
    community = collect(agent, address, version="2c", community="env:TONEOUT_TEST_COMMUNITY")
    assert isinstance(community, CollectedSwitch), community
    assert community.system.name == "wetlab-sw1"
    refused = collect(free_port(), address, user="open")
    assert isinstance(refused, FailedSwitch)
    assert refused.reason == "refused: no SNMP agent listens on this port"


@pytest.mark.parametrize("auth", AUTHS)
def test_a_real_agent_answers_an_authenticated_user(auth: Auth, agent: int) -> None:
    check_read(collect(agent, user=f"{auth}aes", auth=auth, **AUTH))


@pytest.mark.parametrize("auth", AUTHS)
@pytest.mark.parametrize("privacy", PRIVACIES)
def test_a_real_agent_answers_a_user_with_privacy(auth: Auth, privacy: Privacy, agent: int) -> None:
    check_read(collect(agent, user=f"{auth}{privacy}", auth=auth, privacy=privacy, **AUTH, **PRIVACY))


@pytest.mark.parametrize(
    ("settings", "reason"),
    [
        ({"user": "nobody"}, "does not know this user"),
        ({"user": "sha1aes", "auth": "sha1", "auth_secret": "env:TONEOUT_TEST_WRONG"}, "did not accept our authent"),
        ({"user": "sha1aes", "auth": "sha256", **AUTH}, "did not accept our authentication"),
        ({"user": "open", "auth": "sha1", **AUTH}, "does not let this user ask at this security level"),
    ],
    ids=["user", "password", "protocol", "level"],
)
def test_a_real_agents_refusal_says_what_is_wrong(settings: dict[str, Any], reason: str, agent: int) -> None:
    found = collect(agent, **settings)
    assert isinstance(found, FailedSwitch)
    assert found.kind == "refused"
    assert found.reason.startswith(reason)
    assert found.hint


@pytest.mark.parametrize(
    "settings",
    [{"privacy": "aes", "privacy_secret": "env:TONEOUT_TEST_WRONG"}, {"privacy": "des", **PRIVACY}],
    ids=["password", "protocol"],
)
def test_wrong_privacy_is_told_from_a_dead_switch(settings: dict[str, Any], agent: int) -> None:
    found = collect(agent, user="sha1aes", auth="sha1", timeout=0.2, **AUTH, **settings)
    assert isinstance(found, FailedSwitch)
    assert found.reason.startswith("answers to SNMPv3, but not to this user")
    assert "privacy_secret" in found.hint


def test_a_missing_secret_fails_the_switch_by_its_reference(agent: int) -> None:
    found = collect(agent, user="sha1aes", auth="sha1", auth_secret="env:TONEOUT_TEST_NOT_SET")
    assert isinstance(found, FailedSwitch)
    assert (found.kind, "env:TONEOUT_TEST_NOT_SET" in found.reason) == ("secret", True)


class Engine:
    """The other end of the user-based security model, made of our own half: an agent that knows the user's keys."""

    def __init__(self, user: User, engine_id: bytes = bytes.fromhex("80001f8803001122334455")) -> None:
        self.user = user
        self.engine_id = engine_id
        self.boots, self.time = 5, 1000

    def discovery(self, message_id: int) -> bytes:
        """The report that a question without an engine ID gets."""
        name = ber.oid_octets((1, 3, 6, 1, 6, 3, 15, 1, 1, UNKNOWN_ENGINE, 0))
        return self._sealed(message_id, ber.REPORT, [ber.Binding(name, 0x41, b"\1")], trusted=False)

    def response(self, message_id: int, *, trusted: bool = True) -> bytes:
        """An empty response."""
        return self._sealed(message_id, ber.RESPONSE, [], trusted=trusted)

    def _sealed(self, message_id: int, kind: int, bindings: list[ber.Binding], *, trusted: bool) -> bytes:
        from collectors.transports.snmp_usm import digest

        listed = b"".join(ber.tlv(0x30, ber.tlv(6, b.name) + ber.tlv(b.tag, b.content)) for b in bindings)
        pdu = ber.tlv(kind, ber.integer(message_id) + ber.integer(0) * 2 + ber.tlv(0x30, listed))
        scoped = ber.tlv(0x30, ber.tlv(4, self.engine_id) + ber.tlv(4, b"") + pdu)
        flags = bytes([1 if trusted else 0])
        header = ber.tlv(0x30, ber.integer(message_id) + ber.integer(65507) + ber.tlv(4, flags) + ber.integer(3))
        before = ber.tlv(4, self.engine_id) + ber.integer(self.boots) + ber.integer(self.time)
        before += ber.tlv(4, self.user.name.encode())

        def whole(told: bytes) -> bytes:
            parameters = ber.tlv(4, ber.tlv(0x30, before + ber.tlv(4, told) + ber.tlv(4, b"")))
            return ber.tlv(0x30, ber.integer(3) + header + parameters + scoped)

        if not trusted:
            return whole(b"")
        return whole(digest("sha1", localized_key("sha1", "authpass1", self.engine_id), whole(bytes(12))))


@pytest.fixture
def met() -> tuple[UsmEnvelope, Engine]:
    """An envelope that has discovered its engine."""
    user = User("sha1", "sha1", SecretStr("authpass1"))
    envelope, engine = UsmEnvelope(user), Engine(user)
    _, report = envelope.unwrap(engine.discovery(1))
    assert report_of(report) == UNKNOWN_ENGINE
    assert envelope.ready
    return envelope, engine


def test_an_authenticated_answer_is_taken(met: tuple[UsmEnvelope, Engine]) -> None:
    envelope, engine = met
    message_id, pdu = envelope.unwrap(engine.response(7))
    assert (message_id, pdu.kind) == (7, ber.RESPONSE)


def test_an_answer_without_authentication_is_not_taken_where_it_was_asked_for(met: tuple[UsmEnvelope, Engine]) -> None:
    envelope, engine = met
    with pytest.raises(Unusual, match="less security"):
        envelope.unwrap(engine.response(7, trusted=False))


def test_a_changed_octet_is_noticed(met: tuple[UsmEnvelope, Engine]) -> None:
    envelope, engine = met
    good = engine.response(7)
    changed = good[:-1] + bytes([good[-1] ^ 1])
    with pytest.raises(Unusual):
        envelope.unwrap(changed)


def test_an_answer_of_another_engine_is_not_taken(met: tuple[UsmEnvelope, Engine]) -> None:
    envelope, engine = met
    with pytest.raises(Unusual, match="another engine"):
        envelope.unwrap(Engine(engine.user, b"\x80\0\1\2\3other").response(7))


def test_an_old_message_that_comes_again_is_not_taken(met: tuple[UsmEnvelope, Engine]) -> None:
    """RFC 3414 section 3.2 step 7: earlier boots, or more than 150 s before the latest time heard."""
    envelope, engine = met
    envelope.unwrap(engine.response(7))
    for boots, seconds in ((4, 9999), (5, 849)):
        engine.boots, engine.time = boots, seconds
        with pytest.raises(Unusual, match="past"):
            envelope.unwrap(engine.response(8))
    engine.boots, engine.time = 5, 850
    assert envelope.unwrap(engine.response(9))[0] == 9


def test_a_cut_message_is_unusual_wherever_it_is_cut(met: tuple[UsmEnvelope, Engine]) -> None:
    envelope, engine = met
    good = engine.response(7)
    for length in range(len(good)):
        with pytest.raises(Unusual):
            envelope.unwrap(good[:length])


def test_secrets_are_not_in_the_words_for_users_and_envelopes() -> None:
    user = User("sha1aes", "sha1", SecretStr("authpass1"), "aes", SecretStr("privpass1"))
    for said in (repr(user), str(user), repr(UsmEnvelope(user)), repr(vars(UsmEnvelope(user)))):
        assert "authpass1" not in said
        assert "privpass1" not in said
