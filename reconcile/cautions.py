"""What to mind where the tool proposes work by hand. Common practice of the trade, from memory.

None of it replaces the local electrical and fire codes or licensed practice: where those ask for more, they hold.
"""

from __future__ import annotations

POWER = "PoE: a live port feeds up to 90 W into a cord; shut it or unplug without load, and keep bundles small"
MAINS = "mains: keep data cable away from power wiring; anything at mains voltage is for licensed people"
LASER = "fibre: never look into a fibre or a port, the light is invisible; cap what is open"
LADDER = "ladders and ceilings: work as the safety rules of the site say"
FIRE = "openings in fire-rated walls must be sealed again as the local code demands"
ABANDONED = "cable that nobody will use again: the local code may ask for its removal; else tag it for future use"
CODES = "local codes and licensed practice come before anything written here"

PATCHING = (POWER, LASER, CODES)
"""For cords at panels and switches."""

CABLING = (MAINS, LADDER, FIRE, ABANDONED, CODES)
"""For new or abandoned fixed cable."""
