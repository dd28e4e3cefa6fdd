"""Errors of netmiko, paramiko and the socket as ours: one table, and a test that no class of theirs is missed."""

from __future__ import annotations

import socket
from typing import NamedTuple

from netmiko import exceptions as netmiko_errors
from paramiko import ssh_exception as paramiko_errors

from collectors.errors import BadAnswer, NoAnswer, Refused, SecretError, SwitchError, Unreachable
from collectors.transports.ssh_trust import Trust


class _Ours(NamedTuple):
    kind: type[SwitchError]
    problem: str
    hint: str = ""


_NO_SHELL = _Ours(
    Refused, "lets the user log in and gives no command line", "give the user a shell or a privilege level"
)
_WAYS = "set `secret`, `key_file` or `agent` to one that it takes"
_NO_GREETING = _Ours(NoAnswer, "no SSH greeting in time", "raise `timeout`; is it SSH that answers on this `port`?")
_ENDED = _Ours(NoAnswer, "ended the connection", "look whether it limits sessions or sources")

# Told by their text only: pairs of a part of it and what it means. Looked at before the classes.
_BY_TEXT: tuple[tuple[str, _Ours], ...] = (
    ("Authentication timeout", _Ours(NoAnswer, "did not answer the log-in in time", "raise `timeout`")),
    # paramiko says so when the time for greeting and key exchange was over.
    ("No existing session", _NO_GREETING),
    ("Error reading SSH protocol banner", _NO_GREETING),
    ("No authentication methods available", _Ours(Refused, "no way to log in is named", _WAYS)),
    ("Channel closed", _NO_SHELL),
    ("Timed out waiting for data", _Ours(NoAnswer, "no prompt after logging in", "log in by hand and look")),
    ("Server connection dropped", _ENDED),
    ("encountered RSA key, expected", _Ours(Refused, "the key file is of another kind", "check `key_file`")),
)

# The first class that fits counts: subclasses stand before their parents.
_BY_CLASS: tuple[tuple[type[BaseException], _Ours], ...] = (
    (
        paramiko_errors.PasswordRequiredException,
        _Ours(Refused, "the key file has a pass phrase", "name where it is kept in `secret`"),
    ),
    (
        paramiko_errors.BadAuthenticationType,
        _Ours(Refused, "does not take this way of logging in", _WAYS),
    ),
    (paramiko_errors.PartialAuthentication, _Ours(Refused, "asks for a second factor", "use an account without one")),
    (
        paramiko_errors.AuthenticationException,
        _Ours(Refused, "user, password or key refused", "check `user` and what `secret` or `key_file` refers to"),
    ),
    (
        paramiko_errors.IncompatiblePeer,
        _Ours(BadAnswer, "no cipher or key exchange in common", "update its software, or ask it by SNMP"),
    ),
    (paramiko_errors.ChannelException, _NO_SHELL),
    (paramiko_errors.ProxyCommandFailure, _Ours(Unreachable, "the way through a proxy failed")),
    (paramiko_errors.CouldNotCanonicalize, _Ours(Unreachable, "its name does not resolve", "check `address`")),
    (paramiko_errors.ConfigParseError, _Ours(BadAnswer, "an SSH configuration file is broken")),
    (paramiko_errors.MessageOrderError, _Ours(BadAnswer, "breaks the SSH protocol")),
    (
        netmiko_errors.NetmikoTimeoutException,
        _Ours(NoAnswer, "no answer in the time given", "raise `timeout`"),
    ),
    (netmiko_errors.ReadTimeout, _Ours(NoAnswer, "no prompt in the time given", "is `platform` the right one?")),
    (netmiko_errors.NetmikoParsingException, _Ours(BadAnswer, "an answer that cannot be read")),
    (netmiko_errors.ReadException, _ENDED),
    (netmiko_errors.WriteException, _ENDED),
    (netmiko_errors.NetmikoBaseException, _Ours(BadAnswer, "does not behave like this platform", "check `platform`")),
    (paramiko_errors.SSHException, _Ours(BadAnswer, "breaks the SSH protocol", "log in by hand and look")),
    (
        paramiko_errors.NoValidConnectionsError,
        _Ours(Unreachable, "refuses the connection or has no route", "check `port`"),
    ),
    (socket.gaierror, _Ours(Unreachable, "its name does not resolve", "check `address`")),
    (ConnectionRefusedError, _Ours(Unreachable, "refuses the connection", "check `port`; is SSH enabled?")),
    (TimeoutError, _Ours(NoAnswer, "no answer in the time given", "check `address`; raise `timeout`")),
    (ConnectionError, _ENDED),
    (EOFError, _ENDED),
    (OSError, _Ours(Unreachable, "cannot be reached", "check `address` and the route")),
    (ValueError, _Ours(BadAnswer, "no prompt of this platform", "is `platform` the right one?")),
)


def translated(error: Exception, where: str, trust: Trust | None = None) -> Exception:
    """A foreign error as ours. The text of a foreign error is never repeated: the other side may have written it."""
    if isinstance(error, SwitchError | SecretError):
        return error if error.where else type(error)(where, error.problem, error.hint)
    # netmiko rewords what paramiko and the socket said; the original is what it was handling.
    while isinstance(
        error, netmiko_errors.NetmikoTimeoutException | netmiko_errors.NetmikoAuthenticationException
    ) and isinstance(error.__context__, Exception):
        error = error.__context__
    if isinstance(error, SwitchError):
        return error
    if isinstance(error, paramiko_errors.BadHostKeyException) and trust:
        return trust.changed(error.key, error.expected_key)
    said = str(error)
    by_text = (ours for part, ours in _BY_TEXT if part in said)
    by_class = (ours for kind, ours in _BY_CLASS if isinstance(error, kind))
    ours = next(by_text, None) or next(by_class, None)
    if ours is None:
        return error
    return ours.kind(where, ours.problem, ours.hint)
