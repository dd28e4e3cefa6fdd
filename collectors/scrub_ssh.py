"""What may leave in a recording of command output: names are learned from what our readers understood, then replaced.

A text that is known to be somebody's (a description, a location) but stands in a line that no reader looks at is
found by its label. What neither finds stays: the note that goes with a recording says to look it over.
"""

from __future__ import annotations

import json
import re
from typing import Any

from collectors.scrub import Scrubber
from collectors.snapshot import CollectedSwitch

_LABELS = {
    "name": r"(?:system|host|device|sys)[ _-]?(?:name|id)",
    "place": r"(?:sys)?location",
    "contact": r"(?:sys)?contact",
    "alias": r"(?:port )?desc(?:ription)?",
    "serial": r"(?:chassis |system )?(?:serial(?: number| no\.?)?|s/?n|asset id)",
}
_LABELLED = {
    kind: re.compile(rf"^[ \t]*{label}[ \t.]*[:=][ \t]*(\S.*?)[ \t\r]*$", re.IGNORECASE | re.MULTILINE)
    for kind, label in _LABELS.items()
}
"""Lines of which the rest is somebody's, by what it is."""

_SOMEBODY_S = re.compile(r"(?i)(?:^|[_-])(?:(?:sys|host|system)?name|alias|location|contact|serial|asset|user|domain)$")
"""Keys of JSON whose text is somebody's, unless it is the name of a port."""


def learn(scrubber: Scrubber, switch: CollectedSwitch) -> None:
    """Makes every name known that the readers found in the answers."""
    for kind, texts in (
        ("name", [switch.system.name, switch.lldp_name, *(row.system_name for row in switch.neighbours)]),
        ("place", [switch.system.location]),
        ("serial", [*(row.serial for row in switch.hardware), *(row.serial for row in switch.neighbours)]),
        ("alias", [port.alias for port in switch.ports]),
        ("vlan", switch.vlans.values()),
    ):
        for text in texts:
            scrubber.word(kind, text)
    for row in switch.neighbours:
        scrubber.word("name", row.chassis_id)
        for text in (row.port_id, row.port_description):
            scrubber.port(text)


def scrubbed(scrubber: Scrubber, answer: str) -> str:
    """One answer with everything replaced that is known; its columns and its JSON stay what they are."""
    try:
        told = json.loads(answer)
    except ValueError:
        for kind, labelled in _LABELLED.items():
            for value in labelled.findall(answer):
                scrubber.word(kind, value)
        return scrubber.text(answer, aligned=True)
    return json.dumps(_values(scrubber, told, ""), indent=1, ensure_ascii=False)


def _values(scrubber: Scrubber, told: Any, key: str) -> Any:
    if isinstance(told, dict):
        return {scrubber.text(name): _values(scrubber, value, name) for name, value in told.items()}
    if isinstance(told, list):
        return [_values(scrubber, value, key) for value in told]
    if not isinstance(told, str):
        return told
    return scrubber.port(told) if _SOMEBODY_S.search(key) else scrubber.text(told)
