"""Phrases that several rules share, so that one thing is always called the same."""

from __future__ import annotations

from collectors.names import AddressKind, address_kind
from reconcile.channels import Channel
from reconcile.findings import Place
from reconcile.locate.placement import Placement
from reconcile.makers import maker_of
from reconcile.picture import Picture


def where(place: Place) -> str:
    """`sw-lab port Gi1/0/3, panel PP-A:3, outlet WL-12, wet lab`, leaving out what the map does not have."""
    switch = place.switch if not place.port else f"{place.switch} port {place.port}"
    parts = (switch, place.panel and f"panel {place.panel}", place.outlet and f"outlet {place.outlet}", place.room)
    return ", ".join(part for part in parts if part)


def station(mac: str, picture: Picture) -> str:
    """A station for people: the documented device, else the address with its maker."""
    device = picture.device_of.get(mac)
    return f"{device.name} ({mac})" if device else f"{mac} ({maker_of(mac) or 'maker not registered'})"


def stations(found: tuple[Placement, ...], picture: Picture, most: int = 4) -> str:
    """Several stations, the rest counted."""
    named = ", ".join(station(p.mac, picture) for p in found[:most])
    return named if len(found) <= most else f"{named} and {len(found) - most} more"


def seen_at(placement: Placement, picture: Picture) -> str:
    """Where a station was seen, with what the map says of that place."""
    if placement.at is not None:
        return where(picture.place(placement.at))
    places = "; ".join(where(picture.place(port)) for port in placement.candidates)
    if all(picture.faces_switch(port) for port in placement.candidates):
        return f"an unknown port beyond {places}"
    return f"one of {places}"


def far_end(channel: Channel) -> str:
    """What the map has at the end of a channel."""
    if channel.device is not None:
        return channel.device.name
    if channel.far_port is not None:
        return f"{channel.far_port.name} port {channel.far_port.position}"
    return "nothing"


def passing(mac: str) -> bool:
    """True for addresses that may change from day to day: they cannot identify a finding."""
    return address_kind(mac) is not AddressKind.DEVICE
