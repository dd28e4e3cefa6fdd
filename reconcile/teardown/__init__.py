"""Before a teardown: what goes dark, which cords to pull in which order, what becomes spare; and afterwards, whether
just this went dark.

    words ─▶ scope ─▶ cut (channels and ports) ─▶ graph ─▶ dark ─▶ pulls, spare ─▶ TeardownPlan ─▶ after
"""

from reconcile.teardown.after import check_after
from reconcile.teardown.plan import plan_teardown

__all__ = ["check_after", "plan_teardown"]
