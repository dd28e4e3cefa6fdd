"""The MAC addresses in one cell, and what a spreadsheet may have done to them."""

from __future__ import annotations

import re
from collections.abc import Collection

from collectors.names import parse_mac
from reconcile.patchmap.messages import quoted
from reconcile.patchmap.model import fold

Problem = tuple[str, dict[str, object]]
"""The code of a fault and the words for its blanks."""

_SCIENTIFIC = re.compile(r"(\d+)(?:[.,](\d+))?[eE]\+?(\d{1,3})")
_SHORTEST = 9
"""Digits that a number must have to be taken for an address without its leading zeros: at most three were lost."""


def read_macs(text: str, nothing: Collection[str]) -> tuple[list[str], list[Problem]]:
    """The addresses of a cell, in order, and the problems with what is not one.

    Between addresses may stand commas, semicolons, slashes, bars, new lines or blanks.
    """
    if fold(text) in nothing:
        return [], []
    found: list[str] = []
    problems: list[Problem] = []
    for piece in filter(str.strip, re.split(r"[,;/|\r\n]+", text) if not _one_number(text) else [text]):
        macs = _split_blanks(" ".join(piece.split()))
        for mac in macs or [piece.strip()]:
            address, problem = _read_one(mac)
            found += [address] if address else []
            problems += [problem] if problem else []
    return found, problems


def _one_number(text: str) -> bool:
    """A number with a decimal comma is not two addresses."""
    return bool(_SCIENTIFIC.fullmatch(text.strip()))


def _split_blanks(piece: str) -> list[str]:
    """Addresses parted by blanks, where each part is one, or the parts are octets and six make one."""
    if parse_mac(piece):
        return [piece]
    words = piece.split(" ")
    if all(map(parse_mac, words)):
        return words
    if len(words) % 6 == 0 and all(re.fullmatch(r"[0-9a-fA-F]{2}", word) for word in words):
        return [" ".join(words[i : i + 6]) for i in range(0, len(words), 6)]
    return []


def _read_one(text: str) -> tuple[str | None, Problem | None]:
    whole = re.sub(r"[.,]0+\Z", "", text) if re.fullmatch(r"\d+[.,]0+", text) else text
    if mac := parse_mac(whole):
        return mac, None
    if found := _SCIENTIFIC.fullmatch(whole):
        first, decimals, power = found.group(1), found.group(2) or "", int(found.group(3))
        if len(decimals) < power:
            return None, ("mac-scientific", {"value": quoted(text)})
        whole = first + decimals[:power]
    if re.fullmatch(r"\d{1,11}", whole, re.ASCII):
        if len(whole) < _SHORTEST:
            return None, ("mac-too-short", {"value": quoted(text), "size": len(whole)})
        mac = parse_mac(whole.zfill(12))
        return mac, ("mac-zeros-lost", {"value": quoted(text), "read": mac})
    mac = parse_mac(whole) if whole != text else None
    return (mac, None) if mac else (None, ("not-a-mac", {"value": quoted(text)}))
