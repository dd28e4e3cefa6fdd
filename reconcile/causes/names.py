"""What to call the rows of a story: devices, ports, cords, jacks and outlets as documented."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from reconcile.causes.plan import Event, Link, Move
from reconcile.causes.reading import Reading
from reconcile.causes.tenants import Tenant
from reconcile.channels import Channel, StepKind

_LISTED = 6  # names in one sentence; the findings beneath have all


def listed(names: Iterable[str], most: int = _LISTED) -> str:
    """`a`, `a and b`, `a, b and c`, `a, b and 7 more`."""
    all_names = list(dict.fromkeys(names))
    shown = all_names if len(all_names) <= most else [*all_names[: most - 1], f"{len(all_names) - most + 1} more"]
    return " and ".join(filter(None, (", ".join(shown[:-1]), *shown[-1:])))


class Names:
    """Words for the row numbers of one reading."""

    def __init__(self, reading: Reading) -> None:
        self.reading = reading

    def tenant(self, device: int) -> Tenant:
        """Who a device row is."""
        return self.reading.tenants[device]

    def who(self, device: int) -> str:
        """A device with those who share its cord, or a link between switches."""
        tenant = self.tenant(device)
        if tenant.link:
            far = next((str(end) for end in tenant.ends if end != tenant.home), "another switch")
            return f"the link to {far.replace(':', ' port ', 1)}"
        first, *rest = (d.name for d in tenant.devices)
        return f"{first} with {listed(rest, 3)}" if rest else first

    def everybody(self, moves: Sequence[Move]) -> str:
        """All devices of some moves."""
        return listed(self.who(move.device) for move in moves)

    def port(self, row: int) -> str:
        """`sw-lab port Gi1/0/3`."""
        if row < 0:
            return "no switch port"
        ref = self.reading.ports[row]
        return f"{ref.switch} port {ref.port}"

    def missing(self, row: int) -> bool:
        """True for a port that the map names and its switch does not have."""
        return row >= 0 and int(self.reading.heard.link[row]) == Link.NO_PORT

    def short(self, row: int) -> str:
        """The port's name on its switch."""
        return self.reading.ports[row].port

    def switch(self, row: int) -> str:
        """The switch of a port."""
        return self.reading.ports[row].switch

    def channel(self, row: int) -> Channel | None:
        """What the map has at a port."""
        return self.reading.channel_at.get(row)

    def cord_in(self, row: int) -> str:
        """The cord that the map has in a port: `cord C-107`, or words where it has no label."""
        label = _first(self.channel(row), StepKind.CORD)
        return f"cord {label}" if label else f"the cord that belongs in {self.port(row)}"

    def cord(self, move: Move) -> str:
        """The cord of a device: `cord C-107`, or `the cord of tank-camera` where it has no label."""
        label = _first(self.channel(move.origin), StepKind.CORD)
        return f"cord {label}" if label else f"the cord of {self.who(move.device)}"

    def carrier(self, device: int) -> str:
        """The device behind which the map has another one, such as a telephone before a computer; '' for most."""
        channel = self.tenant(device).channel
        return channel.next_device.name if channel.behind and channel.next_device else ""

    def at_home(self, row: int) -> int:
        """The device that the map has at a port, if it was heard there; else -1."""
        plan, heard = self.reading.plan, self.reading.heard
        found = ((plan.home == row) & (heard.at == row)).nonzero()[0]
        return int(found[0]) if len(found) else -1

    def jack(self, row: int) -> str:
        """The panel jack that the cord of a port leads to; '' where it leads to none."""
        return _first(self.channel(row), StepKind.JACK)

    def outlet(self, row: int) -> str:
        """The outlet at the far end of a port's channel; '' where there is none."""
        return _last(self.channel(row), StepKind.OUTLET)

    def kinds(self, event: Event) -> tuple[str, ...]:
        """What kinds of device an event moves, as documented."""
        return tuple(d.kind for move in event.moves for d in self.tenant(move.device).devices if d.kind)

    def links(self, event: Event) -> bool:
        """True when an event touches a link between switches."""
        return any(self.tenant(move.device).link for move in event.moves)

    def face(self, face: int) -> str:
        """The switch that a face belongs to."""
        rows = (self.reading.plan.face == face).nonzero()[0]
        return self.switch(int(rows[0])) if len(rows) else "a switch"


def _first(channel: Channel | None, kind: StepKind) -> str:
    return next((s.label for s in channel.steps if s.kind is kind), "") if channel else ""


def _last(channel: Channel | None, kind: StepKind) -> str:
    return next((s.label for s in reversed(channel.steps) if s.kind is kind), "") if channel else ""
