"""Somebody else is at the port of a documented device, and the device itself was seen nowhere."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reconcile.findings import Finding, Kind, Severity, finding_key
from reconcile.picture import Picture
from reconcile.rules.words import stations, where
from reconcile.verdicts import Judgement, Saw


def other_device(picture: Picture, judgements: Sequence[Judgement]) -> Iterator[Finding]:
    """One finding per device whose place is taken."""
    for judged in judgements:
        device = judged.channel.device
        if judged.saw is not Saw.OTHERS or device is None:
            continue
        place = picture.place(judged.port, judged.channel)
        others = stations(judged.stations, picture)
        yield Finding(
            key=finding_key(Kind.OTHER_DEVICE, device.name, str(judged.port), judged.stations[0].mac),
            kind=Kind.OTHER_DEVICE,
            severity=Severity.MEDIUM,
            where=place,
            documented=f"the map has {device.name} ({' '.join(device.macs)}) at {where(place)}",
            seen=f"{others} is there, and {device.name} was seen nowhere",
            advice=f"look whether {device.name} was replaced (then write its new address into the map) or unplugged",
            device=device.name,
            macs=tuple(p.mac for p in judged.stations),
            grade=judged.stations[0].grade.value,
        )
