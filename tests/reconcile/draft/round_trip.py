"""A draft written, read again by the readers of maps, checked, and compared with the snapshot that it came from."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from collectors.snapshot import Snapshot
from reconcile.channels import resolve
from reconcile.draft import Draft, draft
from reconcile.findings import QUALITY, Finding
from reconcile.patchmap.check import check_map, check_site
from reconcile.patchmap.files import read_map
from reconcile.patchmap.model import Fault, PatchMap
from reconcile.patchmap.to_fill import ToFill, still_to_fill
from reconcile.pipeline import reconcile
from reconcile.reports.draft import Form, Style, files
from reconcile.site import Site, load_site

FORMS: tuple[Form, ...] = ("schedule", "tables", "workbook")
_PATHS: dict[Form, str] = {"schedule": "draft.csv", "tables": "draft", "workbook": "draft.xlsx"}


@dataclass(frozen=True)
class Trip:
    """What became of one draft on its way through a file."""

    draft: Draft
    patch_map: PatchMap
    faults: tuple[Fault, ...]
    findings: list[Finding]
    to_fill: tuple[ToFill, ...]

    @property
    def not_told(self) -> list[str]:
        """Differences that the draft did not announce among its open points. How good a link is, is no drift."""
        stations = {mac for point in self.draft.open for mac in point.macs}
        ports = {(point.switch, point.port) for point in self.draft.open if point.port}
        return [
            f"{finding.kind} at {finding.where.switch}:{finding.where.port}: {finding.seen}"
            for finding in self.findings
            if finding.kind not in QUALITY
            and (finding.where.switch, finding.where.port) not in ports
            and not (finding.macs and set(finding.macs) <= stations)
        ]


def trip(snapshot: Snapshot, folder: Path, form: Form = "schedule", more: str = "") -> Trip:
    """Drafts, writes and reads again. Every switch of the snapshot is one of the site's."""
    made = draft(snapshot)
    write(made, folder, form)
    site = site_of(snapshot, folder, form, more)
    patch_map, faults = read_map(site)
    channels = resolve(patch_map)
    all_faults = (*check_site(site, patch_map), *faults, *check_map(patch_map, channels))
    found = reconcile(patch_map, snapshot).findings
    return Trip(made, patch_map, all_faults, found, still_to_fill(patch_map, channels))


def write(made: Draft, folder: Path, form: Form) -> None:
    """The files of a draft, where the site that `site_of` makes has its map."""
    target = folder / _PATHS[form]
    for name, content in files(made, form, Style()).items():
        path = target / name if name else target
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)


def site_of(snapshot: Snapshot, folder: Path, form: Form, more: str = "") -> Site:
    """A site that asks the switches of the snapshot and keeps the draft as its map."""
    import tomlkit

    text = tomlkit.document()
    text["site"] = {"name": "Saltmarsh Field Station"}
    text["map"] = {"form": form, "path": _PATHS[form]}
    names = [*(s.name for s in snapshot.switches), *(f.name for f in snapshot.failed)]
    text["switch"] = [
        {"name": name, "address": f"192.0.2.{n}", "snmp": {"community": "env:X"}} for n, name in enumerate(names, 1)
    ]
    (folder / "toneout.toml").write_text(tomlkit.dumps(text) + more, "utf-8")
    return load_site(folder)
