"""What a draft hands over: rows for files in any form of a map, and what was left open."""

from __future__ import annotations

from datetime import datetime

from pydantic import BaseModel, ConfigDict, Field

from reconcile.patchmap.model import End


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class DraftSwitch(_Model):
    """One switch of the site. `answered` is False where nothing but its name is known."""

    name: str
    model: str = ""
    answered: bool = True


class DraftRow(_Model):
    """One cord that somebody will find at `at`, a switch port or (`behind`) the socket of a device before it.

    Either a device is at its other end, or (`far` is there) a port of another switch. `named` is False where the
    device is called by its address, or by its place, because nobody told a name.
    """

    at: End = Field(description="switch and port, or device and socket")
    behind: bool = Field(False, description="it is plugged into another device and not into a switch")
    far: End | None = Field(None, description="switch and port at the other end of a link between switches")
    device: str = ""
    socket: str = Field("", description="which of its sockets, for a device with several; ?1 where nobody told")
    named: bool = True
    kind: str = ""
    carries: bool = False
    macs: tuple[str, ...] = ()
    ips: tuple[str, ...] = Field((), description="from ARP tables and from what it announces")
    maker: str = ""
    vlans: tuple[int, ...] = ()
    description: str = Field("", description="what the switch has as the description of its port")
    to_fill: tuple[str, ...] = Field((), description="columns that a person has to fill")
    note: str = ""


class OpenPoint(_Model):
    """One thing that the draft does not write down, and why; a comparison with the same snapshot may tell of it."""

    what: str
    because: str
    switch: str = ""
    port: str = ""
    macs: tuple[str, ...] = ()
    not_looked_at: bool = Field(False, description="nobody could look, so nothing follows from what is missing")


class Draft(_Model):
    """A whole first map."""

    schema_version: int = 1
    site: str = ""
    taken: datetime = Field(description="when the snapshot was finished")
    switches: tuple[DraftSwitch, ...] = ()
    rows: tuple[DraftRow, ...] = ()
    open: tuple[OpenPoint, ...] = ()

    @property
    def ips(self) -> tuple[str, ...]:
        """Every IP address of a written device, to ask for its name."""
        return tuple(dict.fromkeys(ip for row in self.rows for ip in row.ips))
