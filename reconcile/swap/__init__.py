"""After a hardware swap: is everything that was there back at the matching port, and if not, what is left to do.

    before, after ─▶ look ─▶ watch ─▶ pairing (which new port stands for which old one) ─▶ check ─▶ SwapCheck

Nothing here asks a switch; nothing here writes a file.
"""

from reconcile.swap.check import check_swap
from reconcile.swap.correspondence import Correspondence, Replacement, correspond, end_changes
from reconcile.swap.look import look

__all__ = ["Correspondence", "Replacement", "check_swap", "correspond", "end_changes", "look"]
