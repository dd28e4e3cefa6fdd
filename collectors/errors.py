"""The error tree of the collectors.

    CollectError
    ├── SecretError       a secret reference that cannot be resolved, or a secret file open to others
    ├── SnapshotError     a snapshot file that cannot be read or is of a later schema
    ├── RecordingError    a recording that cannot be read, written or served
    └── SwitchError       one switch could not be asked; becomes that switch's row, never ends a run
        ├── Unreachable   no route, refused connection, name that does not resolve
        ├── NoAnswer      nothing came back in the time given
        ├── Refused       wrong community, user, password or view
        │   └── HostKeyRefused   unknown or changed SSH host key
        └── BadAnswer     an answer that breaks the protocol

Foreign errors (pysnmp, netmiko, paramiko, OS) are translated in `transports/`, nowhere else.
"""

from __future__ import annotations


class CollectError(Exception):
    """Reads "<where>: <problem>; try: <hint>".

    `where` is a switch or a file, `problem` one clause, `hint` what to try next (may be empty).
    No secret may be passed in any of them.
    """

    def __init__(self, where: str, problem: str, hint: str = "") -> None:
        self.where = where
        self.problem = problem
        self.hint = hint
        super().__init__(f"{where}: {problem}" + (f"; try: {hint}" if hint else ""))


class SecretError(CollectError):
    """A secret reference that cannot be resolved, or a secret file that others may read."""


class SnapshotError(CollectError):
    """A snapshot file that cannot be read, does not fit the schema, or is of a later schema version."""


class RecordingError(CollectError):
    """A recording of a switch that cannot be read, written or served by the simulator."""


class SwitchError(CollectError):
    """One switch could not be asked."""


class Unreachable(SwitchError):
    """No route, connection refused, or a name that does not resolve."""


class NoAnswer(SwitchError):
    """Nothing came back within time-out and retries."""


class Refused(SwitchError):
    """The switch answered, and did not let us in."""


class HostKeyRefused(Refused):
    """The SSH host key is unknown or not the one on record."""


class BadAnswer(SwitchError):
    """The answer breaks the protocol."""
