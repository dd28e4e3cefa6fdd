"""Answers that are blocks of `Label : value` lines, as every vendor prints the details of an LLDP neighbour.

Read here and not by a template: the templates at hand drop what tells a switch from a telephone (capabilities) or
names the neighbour (chassis id), and one line of a neighbour's own text that looks odd would end them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from collectors.platforms import wording
from collectors.snapshot import Neighbour

# A label, its separator, a value. Bullets of some vendors ("- ", "+ ") are no part of the label.
_LABELLED = re.compile(r"^[\s+\-*]*([A-Za-z][^:=]{0,60}?)\s*[:=](?:\s+|$|(?=\S))(.*)$")
_NOT_TOLD = re.compile(r"^\s*([A-Za-z][\w /]{2,40}?) - not advertised\s*$")


# Labels whose value is a neighbour's text of any number of lines.
_LONG = ("system description", "system descr", "neighbor chassis-description")


@dataclass
class Block:
    """One block: `values` by label in small letters, first occurrence kept; a repeated label also counts in `all`."""

    heading: str = ""
    values: dict[str, str] = field(default_factory=dict)
    all: dict[str, list[str]] = field(default_factory=dict)

    def get(self, *labels: str) -> str:
        """The first of these labels that has a value."""
        return next((self.values[label] for label in labels if self.values.get(label)), "")

    def told(self, *labels: str) -> str | None:
        """As `get`, but None where no such label was printed."""
        return next((self.values[label] for label in labels if label in self.values), None)

    def every(self, *labels: str) -> list[str]:
        """Every value under any of these labels."""
        return [value for label in labels for value in self.all.get(label, [])]


def blocks(text: str, first: str, *, known: frozenset[str], heading: str = "") -> Iterator[Block]:
    """The blocks of `text`. A block begins where the label `first` comes again, or after a heading.

    `known`: labels of this platform that end a neighbour's own text, which may run over several lines and look like
    anything. `heading`: a pattern of lines between blocks; its first group holds for the blocks that follow it.
    """
    head, block, last = "", Block(), ""
    headline = re.compile(heading, re.IGNORECASE) if heading else None
    for line in text.splitlines():
        found = headline.match(line) if headline else None
        if found:
            if block.values:
                yield block
            head = found.group(1)
            block, last = Block(head), ""
            continue
        label, value = _split(line)
        if label is None or (last in _LONG and label not in known):
            if last in _LONG and line.strip():
                block.values[last] = f"{block.values[last]}\n{line.strip()}".strip()
            continue
        if label == first and first in block.values:
            yield block
            block = Block(head)
        block.values.setdefault(label, value)
        block.all.setdefault(label, []).append(value)
        last = label if value == block.values[label] else ""
    if block.values:
        yield block


def _split(line: str) -> tuple[str | None, str]:
    bare = _NOT_TOLD.match(line)
    if bare:
        return None, ""
    found = _LABELLED.match(line)
    if not found:
        return None, ""
    return " ".join(found.group(1).lower().split()), found.group(2).strip()


def miscounted(text: str, total: str, found: int) -> str:
    """Why rows are not the whole table, when the switch counts others than we found; else empty.

    `total`: a pattern whose first group is the switch's count. More rows than it counts may be a neighbour's text that
    imitates them.
    """
    said = re.search(total, text, re.IGNORECASE)
    if said and int(said.group(1)) != found:
        return f"the switch counts {said.group(1)} rows, {found} were found"
    return ""


Labels = Mapping[str, tuple[str, ...]]
"""For each fact of a neighbour, the labels that this platform prints it under."""


def labels_of(labels: Labels, *others: str) -> frozenset[str]:
    """Every label that a platform is known to print."""
    return frozenset(label for group in labels.values() for label in group) | frozenset(others)


def neighbour(block: Block, labels: Labels, port: str) -> Neighbour:
    """One block as a neighbour. Facts without a label of theirs stay open."""

    def said(fact: str) -> str:
        value = block.get(*labels.get(fact, ()))
        bare = value.strip().strip('"')
        return "" if bare.lower() in ("", "-", "--", "none", "not advertised", "- not advertised", "n/a") else bare

    chassis_kind, port_kind = wording.id_kind(said("chassis_id_kind")), wording.id_kind(said("port_id_kind"))
    return Neighbour(
        port=wording.text(port) or None,
        chassis_id=wording.identifier(said("chassis_id"), chassis_kind),
        chassis_id_kind=chassis_kind,
        port_id=wording.identifier(said("port_id"), port_kind),
        port_id_kind=port_kind,
        port_description=wording.text(said("port_description")),
        system_name=wording.text(said("system_name")),
        system_description=wording.text(said("system_description")),
        capabilities=wording.capabilities(block.told(*labels.get("capabilities", ())), letters=True),
        management_addresses=wording.management_addresses(block.every(*labels.get("management_address", ()))),
        pvid=wording.vlan_id(said("pvid")),
        mau_type=wording.number(said("mau_type")),
        maker=wording.text(said("maker")),
        model=wording.text(said("model")),
        serial=wording.text(said("serial")),
    )
