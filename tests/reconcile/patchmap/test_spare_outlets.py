"""What ends at an outlet: a spare outlet kept live is no fault, a device behind which nothing leads on is one."""

from __future__ import annotations

from reconcile.channels import resolve
from reconcile.patchmap.check import check_map
from reconcile.patchmap.model import Cord, Device, End, FixedCable, Outlet, Panel, PatchMap, Switch


def site(*devices: Device, patched: bool) -> PatchMap:
    """A switch, a panel and an outlet with its fixed cable; the cord between switch and panel when `patched`."""
    cord = Cord(label="C-1", a=End("SW-1", "1"), b=End("PP-A", "1"))
    return PatchMap(
        switches=[Switch(name="SW-1", ports=("1", "2"))],
        panels=[Panel(name="PP-A", jacks=("1", "2"))],
        outlets=[Outlet(name="WL-01", jacks=("1",))],
        fixed_cables=[FixedCable(label="F-1", a=End("PP-A", "1"), b=End("WL-01", "1"))],
        cords=[cord] if patched else [],
        devices=list(devices),
    )


def codes(patch_map: PatchMap) -> list[str]:
    return [fault.code for fault in check_map(patch_map, resolve(patch_map))]


def test_a_spare_outlet_that_is_patched_through_to_a_switch_is_no_fault() -> None:
    assert codes(site(patched=True)) == []


def test_a_device_at_an_outlet_that_is_patched_to_nothing_is_a_fault() -> None:
    lamp = Device(name="TANK-LAMP", at=End("WL-01", "1"))
    assert codes(site(lamp, patched=False)) == ["open-end"]
