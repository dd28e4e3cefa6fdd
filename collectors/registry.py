"""The ways to ask a switch, each with what makes its collector. A new way is one more line here."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Literal

from collectors.contracts import Collector

Way = Literal["snmp", "ssh"]


def _snmp() -> Collector:
    from collectors.snmp_collector import SnmpCollector

    return SnmpCollector()


def _ssh() -> Collector:
    from collectors.ssh_collector import SshCollector

    return SshCollector()


# Makers, not instances: a site that is asked by SNMP alone never loads netmiko, nor the other way round.
COLLECTORS: Mapping[Way, Callable[[], Collector]] = {"snmp": _snmp, "ssh": _ssh}
