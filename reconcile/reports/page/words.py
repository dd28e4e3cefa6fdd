"""The words of the page: what the map has on a cord, cable or device, and what a switch says of a port."""

from __future__ import annotations

from collectors.snapshot import Port
from reconcile.channels import Step, StepKind
from reconcile.free_ports import FreePort
from reconcile.patchmap.model import Cord, Device, FixedCable, Outlet, Panel
from reconcile.reports.escape import sentence


def joined(*parts: str, by: str = ", ") -> str:
    """The parts that are there, as one harmless text."""
    return sentence(by.join(part for part in parts if part))


def opened(text: str) -> str:
    """A clause as the beginning of a sentence."""
    return text[:1].upper() + text[1:]


def about(step: Step) -> str:
    """What the map has on a cord, cable or device beside its name."""
    match step.row:
        case Device() as row if step.kind is StepKind.DEVICE:
            owner = f"owner {row.owner}" if row.owner else ""
            return joined(row.kind, owner, " ".join(row.macs), row.note)
        case Cord() as row:
            return joined(row.colour, _metres(row.length_m), row.category, row.note)
        case FixedCable() as row:
            return joined(_metres(row.length_m), row.category, row.note)
    return ""


def material(holder: Panel | Outlet) -> tuple[str, ...]:
    """Category and shield."""
    return (f"category {holder.category}" if holder.category else "", holder.shield)


def free_words(free: FreePort) -> str:
    """For how long a free port has had no link, or why it is not simply free."""
    if free.state != "silent" or free.silent_seconds is None:
        return f"{free.state}{f': {free.because}' if free.because else ''}"
    days = free.silent_seconds / 86_400
    least = "at least " if free.at_least else ""
    lasting = f"no link for {least}{days:.0f} days" if days >= 2 else f"no link for {least}{days * 24:.0f} hours"
    last = f"last seen up {free.last_link.astimezone():%Y-%m-%d}" if free.last_link else ""
    return joined(lasting, last, free.because)


def link_words(port: Port) -> str:
    """State, speed, duplex, VLAN and watts of a port."""
    if port.admin == "down":
        return "shut on the switch"
    up = port.oper == "up"
    state = {"up": "link up", "down": "no link", None: "state not told"}.get(port.oper, f"state {port.oper}")
    speed = "" if not up or not port.speed_mbps else _speed(port.speed_mbps)
    duplex = f"{port.duplex} duplex" if up and port.duplex in ("full", "half") else ""
    vlan = f"VLAN {port.pvid}" if port.pvid is not None else ""
    watts = f"gives {port.power.watts:g} W" if port.power and port.power.watts else ""
    return joined(state, speed, duplex, vlan, watts)


def _metres(length: float | None) -> str:
    return f"{length:g} m" if length else ""


def _speed(mbps: int) -> str:
    return f"{mbps / 1000:g} Gbit/s" if mbps >= 1000 else f"{mbps} Mbit/s"
