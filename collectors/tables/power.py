"""POWER-ETHERNET-MIB (RFC 3621): what each port feeds, and what each supply can."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from typing import Literal, get_args

from collectors.snapshot import Port, Power, PowerGroup
from collectors.tables.bridge import BridgePorts
from collectors.tables.interfaces import ETHERNET
from collectors.tables.mib import Answers, Index

OBJECTS = (
    "pethPsePortAdminEnable", "pethPsePortDetectionStatus", "pethPsePortPowerPriority",
    "pethPsePortPowerClassifications",
)  # fmt: skip
GROUP_OBJECTS = (
    "pethMainPsePower", "pethMainPseOperStatus", "pethMainPseConsumptionPower", "pethMainPseUsageThreshold",
)  # fmt: skip

_State = Literal["disabled", "searching", "deliveringPower", "fault", "test", "otherFault"]
_STATES: dict[int, _State] = dict(enumerate(get_args(_State), 1))
_PRIORITIES: dict[int, Literal["critical", "high", "low"]] = {1: "critical", 2: "high", 3: "low"}
_SUPPLIES: dict[int, Literal["on", "off", "faulty"]] = {1: "on", 2: "off", 3: "faulty"}
_TRUTH = {1: True, 2: False}
_DELIVERING = 3


class PortNames:
    """Which port a (group, port) of this MIB means; it is not tied to ifIndex.

    By the numbers in the name where these lead to one port (group 2, port 7: Gi2/0/7); else as ifIndex or bridge port
    where all rows of a single group are that. The MIB counts ports from 1: names that count from 0 are one behind.
    """

    def __init__(self, answers: Answers, ports: Iterable[Port], base: BridgePorts) -> None:
        indexes = [index for name in OBJECTS[:2] for index in answers[name] if len(index) == 2]
        sockets = [port for port in ports if port.if_type in ETHERNET]
        keys = {port.name: _key(port.name) for port in sockets}
        from_zero = any(key and key[-1] == 0 for key in keys.values()) and all(index[1] > 0 for index in indexes)
        self._by_numbers: dict[Index, list[str]] = {}
        for name, key in keys.items():
            counted = (*key[:-1], key[-1] + 1) if key and from_zero else key
            self._by_numbers.setdefault(counted, []).append(name)
        self._single_group = len({index[0] for index in indexes}) == 1
        by_index = {port.if_index: port.name for port in sockets}
        known = all(index[1] in by_index for index in indexes)
        self._by_number: Callable[[int], str | None] = by_index.get if known else base.name

    def __call__(self, group: int, port: int) -> str | None:
        keys: tuple[Index, ...] = ((group, port), (0, port), (port,)) if self._single_group else ((group, port),)
        for key in keys:
            names = self._by_numbers.get(key, [])
            if len(names) == 1:
                return names[0]
        return self._by_number(port) if self._single_group else None


def _key(name: str) -> Index:
    """The first and the last number in a name, or its only one."""
    numbers = tuple(map(int, re.findall(r"\d{1,6}", name)))
    return (numbers[0], numbers[-1]) if len(numbers) > 1 else numbers


def power(answers: Answers, port_name: Callable[[int, int], str | None]) -> dict[str, Power]:
    """Power by port name; `port_name` gives that of (group, port), which the MIB does not tie to ifIndex."""
    enabled, states = answers.numbers("pethPsePortAdminEnable"), answers.numbers("pethPsePortDetectionStatus")
    priorities = answers.numbers("pethPsePortPowerPriority")
    classes = answers.numbers("pethPsePortPowerClassifications")
    found: dict[str, Power] = {}
    for index in dict.fromkeys((*states, *enabled)):
        name = port_name(*index) if len(index) == 2 else None
        if name:
            found[name] = Power(
                enabled=_TRUTH.get(enabled.get(index, 0)),
                state=_STATES.get(states.get(index, 0)),
                power_class=_class(classes.get(index), states.get(index)),
                priority=_PRIORITIES.get(priorities.get(index, 0)),
                group=index[0],
            )
    return found


def _class(value: int | None, state: int | None) -> int | None:
    """class0 is 1 in the MIB; valid only while power is delivered; there is no value for classes 5 to 8."""
    return value - 1 if value is not None and state == _DELIVERING and 1 <= value <= 5 else None


def groups(answers: Answers) -> list[PowerGroup]:
    """Supplies in whole watts, one per fixed switch, stack member or module."""
    budget, used = answers.numbers("pethMainPsePower"), answers.numbers("pethMainPseConsumptionPower")
    states, warn = answers.numbers("pethMainPseOperStatus"), answers.numbers("pethMainPseUsageThreshold")
    indexes: dict[Index, None] = dict.fromkeys((*budget, *used, *states))
    return [
        PowerGroup(
            group=index[0],
            budget_watts=budget.get(index),
            used_watts=used.get(index),
            state=_SUPPLIES.get(states.get(index, 0)),
            warn_percent=warn.get(index),
        )
        for index in indexes
        if len(index) == 1
    ]
