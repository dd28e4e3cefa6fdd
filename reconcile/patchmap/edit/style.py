"""Writes addresses and flags as the user writes them."""

from __future__ import annotations

import re
from collections.abc import Iterable

from collectors.names import parse_mac
from reconcile.patchmap.lines import YES

_PARTED = re.compile(r"([0-9A-Fa-f]+)([:.\- ]?)")
_BETWEEN = re.compile(r"[,;/|\r\n]\s*|\s+")


def addresses_like(macs: Iterable[str], samples: Iterable[str]) -> str:
    """Canonical addresses in the spelling of the first sample cell that has one, and parted as it parts several."""
    sample = next((text.strip() for text in samples if _first(text)), "")
    first = _first(sample)
    rest = sample[sample.find(first) + len(first) :]
    between = _BETWEEN.match(rest)
    return (between.group() if between else " ").join(_like(mac, first) for mac in macs)


def yes_like(samples: Iterable[str]) -> str:
    """The user's own word for yes."""
    return next((text.strip() for text in samples if text.strip().casefold() in YES), "yes")


def _first(text: str) -> str:
    """The first address of a cell as it stands there, '' where there is none that is parted as one."""
    if parse_mac(text):
        return text.strip()
    return next((word for word in _BETWEEN.split(text.strip()) if parse_mac(word)), "")


def _like(mac: str, sample: str) -> str:
    """`00:11:22:aa:bb:cc` as `0011.22AA.BBCC`, where the sample is grouped and cased so."""
    found = _PARTED.match(sample)
    if not found:
        return mac
    digits = mac.replace(":", "")
    letters = re.sub(r"[^A-Fa-f]", "", sample)
    group, separator = (len(found[1]), found[2]) if found[2] else (12, "")
    group = group if group in (2, 4, 6) else 2  # 0:1b:1c leaves leading zeros out: two digits are read by everybody
    digits = digits.upper() if letters and letters.isupper() else digits
    return digits if not separator else separator.join(digits[i : i + group] for i in range(0, 12, group))
