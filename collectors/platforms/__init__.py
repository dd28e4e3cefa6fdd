"""Switches that are asked over SSH: what to send to each family, and how to read what it prints.

Adding a platform
-----------------
1.  Copy the shortest neighbour (`cisco_s300.py`) to `<platform>.py`, named as netmiko and ntc-templates name it, and
    add its name to `NAMES` below. Nothing else registers it.
2.  List its commands, one `Ask` per table (`contract.py`). Only commands that show something: the transport sends what
    stands here and nothing else, and `tests/collectors/test_platforms.py` rejects words that change anything.
    Prefer output made for programs, with text for older software (`json_or_text`, or `instead`). A command that tells
    of two tables stands once for each; it is sent once.
3.  Write a reader for each: text in, `Rows` out, no state, no I/O. Rows of strings come from `templates.rows_of`
    (ntc-templates), LLDP details from `blocks.blocks`, JSON from `json_rows.load`; words become values in `wording`.
    Three rules:
    * What the command does not tell stays None.
    * An answer without the table's own form (its header, its JSON key) raises `Unreadable`. No rows means an empty
      table, and an empty table is evidence.
    * Name ports as they are printed. Where IF-MIB ifName has another word for them, say so in `port_words`; `assemble`
      lets the names meet.
4.  `preparation` names what netmiko sends when it opens a session of this `driver` (paging and width of the session).
    The tests fail with the line that is missing.
5.  Record a session as `fixtures/recordings/ssh/<platform>.yaml` (`tests/collectors/ssh_server.py` explains its keys).
    The tests find it and replay it through netmiko: a normal collect, paging, a dropped connection and the rest. State
    what it must give under `expect`, written by hand from the text and not copied from the program's result.

Importing this package loads no platform, no netmiko and no templates.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collectors.platforms.contract import Platform

NAMES = (
    "arista_eos",
    "aruba_aoscx",
    "brocade_fastiron",
    "cisco_ios",
    "cisco_nxos",
    "cisco_s300",
    "hp_comware",
    "hp_procurve",
    "huawei_vrp",
    "juniper_junos",
    "linux",
    "mikrotik_routeros",
)


def platform(name: str) -> Platform | None:
    """The platform of that name, or None."""
    if name not in NAMES:
        return None
    found: Platform = import_module(f"collectors.platforms.{name}").PLATFORM
    return found
