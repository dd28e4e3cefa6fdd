"""Map and network side by side for those who write back: what the map has at an observed port, and how it names it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from reconcile.causes.attach import Told
from reconcile.causes.explaining import stories
from reconcile.causes.reading import Reading
from reconcile.channels import Channel, StepKind
from reconcile.errors import UsageError
from reconcile.findings import QUALITY, Finding
from reconcile.locate.placement import PortRef
from reconcile.patchmap.edit.changes import Places
from reconcile.patchmap.index import Place as MapPlace
from reconcile.patchmap.model import Cord, Device, End, PatchMap, fold
from reconcile.picture import Picture
from reconcile.pipeline import Comparison
from reconcile.result import Cause
from reconcile.subjects import SubjectKind, find_subject


class Spot(NamedTuple):
    """What the map has at a port: `end` is the port as it writes it, `outer` where a device that reaches it is plugged
    in, `device` who is documented there, `channel` the way; None where the port is free."""

    end: End
    channel: Channel | None
    outer: End
    device: Device | None

    @property
    def free(self) -> bool:
        """True when nothing is plugged into the port."""
        return self.channel is None

    @property
    def open(self) -> bool:
        """True when a way leads to an outlet or jack and nobody is there."""
        return self.channel is not None and self.channel.open_end is not None


@dataclass(frozen=True, slots=True)
class Scene:
    """One comparison with the events that its causes were told from."""

    comparison: Comparison
    reading: Reading
    told: list[Told]
    alone: list[Finding]
    places: Places
    findings: dict[str, Finding] = field(default_factory=dict)

    @property
    def picture(self) -> Picture:
        """Look-ups over map and network."""
        return self.comparison.picture

    @property
    def patch_map(self) -> PatchMap:
        """The map as it was before."""
        return self.comparison.picture.patch_map

    def cause_of(self, key: str) -> Cause:
        """The cause that explains a finding."""
        return next(cause for cause in self.comparison.result.causes if key in cause.findings)

    def device(self, name: str) -> Device | None:
        """The documented device of that name."""
        return next((device for device in self.patch_map.devices if fold(device.name) == fold(name)), None)

    def written(self, port: PortRef) -> End:
        """A port as the map would write it: by the names of its own rows."""
        names = (switch.name for switch in self.patch_map.switches if fold(switch.name) == fold(port.switch))
        end = End(next(names, port.switch), port.port)
        place = self.places.index.place(end)
        return place.end if isinstance(place, MapPlace) else end

    def spot(self, port: PortRef) -> Spot:
        """What the map has at a port, or at the aggregate that it is a member of."""
        channel = next(iter(self.picture.channels_at(port)), None)
        if channel is None or channel.port is None:
            end = self.written(port)
            return Spot(end, None, end, None)
        outer = channel.open_end or plug_of(channel) or channel.port
        return Spot(channel.port, channel, outer, channel.device)

    def cord_at(self, port: End) -> Cord | None:
        """The documented cord in a switch port."""
        return next((c for c in self.patch_map.cords if any(self.places.same(end, port) for end in (c.a, c.b))), None)

    def place(self, text: str) -> PortRef | End:
        """What `--at` means: a port that was seen, a jack, or a socket of a device. Raises UsageError."""
        name, colon, socket = text.partition(":")
        if self.device(name.strip()) is not None:
            if not (colon and socket.strip()):
                raise UsageError(text, f"{name} is a device: which of its sockets?", f"--at {name}:SOCKET, such as pc")
            return End(name.strip(), socket.strip())
        found = find_subject(text, self.picture)
        if found.kind is SubjectKind.PORT and found.port is not None:
            return found.port
        if found.kind is SubjectKind.JACK and found.end is not None:
            return found.end
        if found.kind is SubjectKind.OUTLET:
            place = self.places.index.place(End(found.name))
            if isinstance(place, MapPlace):
                return place.end
        raise UsageError(text, "is no place that something can be plugged into", "SWITCH:PORT, or an outlet's jack")


def plug_of(channel: Channel) -> End | None:
    """Where the device of a channel is plugged in: the place next to it."""
    steps = channel.steps
    if channel.device is None or len(steps) < 3:
        return None
    return steps[-3].end if channel.port is not None and steps[-1].kind is StepKind.DEVICE else steps[2].end


def set_scene(comparison: Comparison) -> Scene:
    """Goes once more from findings to the events behind them."""
    picture, result = comparison.picture, comparison.result
    drift = [finding for finding in result.findings if finding.kind not in QUALITY]
    reading, told, alone = stories(picture.channels, comparison.observed, picture.located, drift)
    found = {finding.key: finding for finding in result.findings}
    return Scene(comparison, reading, told, alone, Places(picture.patch_map), found)
