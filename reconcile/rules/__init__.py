"""The kinds of drift, a file each. A rule is a pure function from what was judged to findings; `RULES` is all of them.

To add one: write `reconcile/rules/<kind>.py` with a function of the `Rule` form, add it to `RULES`, add its `Kind`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from reconcile.findings import Finding
from reconcile.picture import Picture
from reconcile.rules.dead_port import dead_port
from reconcile.rules.duplex_mismatch import duplex_mismatch
from reconcile.rules.moved_device import moved_device
from reconcile.rules.other_device import other_device
from reconcile.rules.port_not_found import port_not_found
from reconcile.rules.power_budget import power_budget
from reconcile.rules.rising_errors import rising_errors
from reconcile.rules.slow_link import slow_link
from reconcile.rules.undocumented_device import undocumented_device
from reconcile.rules.unexpected_link import unexpected_link
from reconcile.rules.uplink_elsewhere import uplink_elsewhere
from reconcile.verdicts import Judgement

Rule = Callable[[Picture, Sequence[Judgement]], Iterable[Finding]]

RULES: tuple[Rule, ...] = (
    uplink_elsewhere,
    moved_device,
    other_device,
    dead_port,
    undocumented_device,
    unexpected_link,
    port_not_found,
    slow_link,
    duplex_mismatch,
    rising_errors,
    power_budget,
)
