"""Quieting with the machines as they stand: the loudest-first ladder beside the proven cheapest set.

Why so: the ladder and the cheapest set share one settled site (`quieting.settled`). A placement becomes the
today of a site in which only measures and cooling are left, and what it breaks already is no limit. So they
play by the same rules, and the ladder cannot be the cheaper of the two.

Why so: money spent on the ladder stays spent, also where a later rung makes an earlier one useless.
"""

from planner.quieting.cheapest import CheapestSet
from planner.quieting.ladder import Ladder, Rung, climb
from planner.quieting.settled import CannotQuietError, settled
from planner.quieting.together import Quieting, quieting

__all__ = ["CannotQuietError", "CheapestSet", "Ladder", "Quieting", "Rung", "climb", "quieting", "settled"]
