"""A cause in plain words for a finding that stands alone: what most likely happened, and what to do by hand."""

from __future__ import annotations

from typing import NamedTuple

from reconcile.causes.cautions import before_unplugging
from reconcile.findings import Finding, Kind, Place
from reconcile.result import Cause


class _Words(NamedTuple):
    """Templates over {device}, {at} (documented place), {now} (where it was seen) and {macs}."""

    kind: str
    story: str
    undo: tuple[str, ...]
    same: tuple[str, ...] = ()
    decides: str = ""


_WORDS: dict[Kind, _Words] = {
    Kind.UNEXPECTED_LINK: _Words(
        "undocumented device",
        "Something that the map does not have is plugged in at {at}; it did not say who it is.",
        ("write down what is at {at}, or pull its cord",),
        ("a documented device moved here and has kept silent since",),
        "read the label of the cord, or wait until the device sends something and ask the switches again",
    ),
    Kind.DEAD_PORT: _Words(
        "gone",
        "{device} is not connected at {at}: it is switched off, was taken away, or its cord is pulled.",
        ("look for {device}; if it is there, switch it on and seat the cord at both ends",),
        (
            "the device is switched off or asleep",
            "the device was taken away",
            "the cord is pulled at the switch, the panel or the outlet",
            "cord or cable is broken",
        ),
        "go to the outlet: is the device there, is it powered, and does its link light come on with another cord?",
    ),
    Kind.SHUT_PORT: _Words(
        "port shut",
        "{at}, the port of {device}, was shut on the switch.",
        ("ask who shut it, then open the port on the switch or take {device} off the map",),
        ("{device} is still plugged in", "{device} was taken away, or its cord was pulled, before or after"),
        "ask who shut it and why, and look whether {device} is still there",
    ),
    Kind.MOVED_DEVICE: _Words(
        "moved",
        "{device} was moved from {at} to {now}.",
        ("bring {device} back to {at}, or write the new place into the map",),
        ("its cord was moved", "the device was carried to another outlet", "another device uses its address"),
        "read the labels at both ends of the cord at {now}",
    ),
    Kind.OTHER_DEVICE: _Words(
        "replaced",
        "Another device ({macs}) is in the place of {device} at {at}.",
        ("look what is there; write its address into the map, or put {device} back",),
        (
            "the device was replaced",
            "the device was taken away, and later another one plugged in there",
            "the device has a new network card, a dock, or changes its address by itself",
            "the far end of the cord was moved to another outlet",
        ),
        "read the type label of the device at the outlet and follow the cord from the panel",
    ),
    Kind.UNDOCUMENTED_DEVICE: _Words(
        "undocumented device",
        "A device that the map does not have ({macs}) is at {at}.",
        ("find out whose it is, then write it into the map or pull its cord",),
        (
            "somebody brought a device of their own",
            "a device that the map has elsewhere, or nowhere yet, under a new address",
            "the far end of the cord was moved to another outlet, where it stands",
        ),
        "follow the cord to the device and read its type label and address",
    ),
    Kind.UPLINK_ELSEWHERE: _Words(
        "uplink moved",
        "The link between switches at {at} leads elsewhere than documented: {seen}.",
        ("follow this cord by hand from end to end before anything is re-plugged, then correct the map or the cord",),
        ("one end of the cord was moved", "two links between switches were crossed"),
        "read the labels at both ends of the cord",
    ),
    Kind.PORT_NOT_FOUND: _Words(
        "port name",
        "The map names {at}, which the switch does not have.",
        ("write the port into the map as the switch names it",),
        ("the name was mistyped in the map", "the switch was replaced, or a module was taken out"),
        "read the port names on the switch",
    ),
    Kind.SLOW_LINK: _Words(
        "slow link",
        "The link at {at} came up slower than it could: {seen}.",
        ("change the cords one at a time and see whether the speed returns; then test the fixed cable",),
        (
            "a broken pair: 4-5 or 7-8, which only gigabit and faster need",
            "a cord with two pairs",
            "a port forced to the lower speed, at either end",
            "a device that sleeps: many drop to 10 or 100 Mbit/s then",
            "an old device, dock or module that can do no more",
        ),
        "ask again while the device is awake; then try a cord that is known to be good",
    ),
    Kind.DUPLEX_MISMATCH: _Words(
        "duplex mismatch",
        "The two ends of the link at {at} disagree on duplex: {seen}.",
        ("set both ends to negotiate, or both to the same speed and duplex",),
        ("one end is forced and the other negotiates, so that it falls back to half duplex",),
        "read the settings of both ends",
    ),
    Kind.RISING_ERRORS: _Words(
        "rising errors",
        "Frames arrive damaged at {at}: {seen}.",
        ("look for a tight bend or a loose plug, then change the cords one at a time and compare again",),
        ("a bad cord or termination", "a duplex mismatch, where collisions come late", "interference or a long cable"),
        "change one part and see whether the count still rises",
    ),
    Kind.POWER_BUDGET: _Words(
        "power budget",
        "A power supply of {at} may not suffice: {seen}.",
        ("move a powered device to another switch, or put in a larger supply; set priorities before that",),
    ),
}

_SAID_BY_THE_SWITCH = frozenset(
    {Kind.SHUT_PORT, Kind.PORT_NOT_FOUND, Kind.DUPLEX_MISMATCH, Kind.RISING_ERRORS, Kind.POWER_BUDGET}
)
"""Stories that tell no more than what the switches themselves say."""


def plain_cause(finding: Finding) -> Cause:
    """The finding as a cause of its own."""
    words = _WORDS[finding.kind]
    facts = {
        "device": finding.device or "what the map has there",
        "at": place_words(finding.where) or "an unknown place",
        "now": place_words(finding.moved_to) if finding.moved_to else "one of several places",
        "macs": ", ".join(finding.macs[:3]) + (" and more" if len(finding.macs) > 3 else ""),
        "seen": finding.seen,
    }
    undo = [step.format_map(facts) for step in words.undo]
    return Cause(
        kind=words.kind,
        story=words.story.format_map(facts),
        findings=(finding.key,),
        cautions=before_unplugging(link=finding.kind is Kind.UPLINK_ELSEWHERE),
        undo=tuple(undo),
        sure=finding.kind in _SAID_BY_THE_SWITCH,
        same_in_effect=tuple(same.format_map(facts) for same in words.same),
        decides=words.decides.format_map(facts),
    )


def place_words(place: Place) -> str:
    """`sw-lab port 3 (panel PP-A:3, outlet WL-12)`: switch port first, then the passive way as documented."""
    port = f"{place.switch} port {place.port}" if place.port else place.switch
    passive = [
        text for text in (place.panel and f"panel {place.panel}", place.outlet and f"outlet {place.outlet}") if text
    ]
    return f"{port} ({', '.join(passive)})" if port and passive else port or ", ".join(passive)
