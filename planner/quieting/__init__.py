"""Quieting with the machines as they stand: the loudest-first ladder beside the proven cheapest set."""

from planner.quieting.cheapest import CheapestSet
from planner.quieting.ladder import Ladder, Rung, climb
from planner.quieting.settled import CannotQuietError, settled
from planner.quieting.together import Quieting, quieting

__all__ = ["CannotQuietError", "CheapestSet", "Ladder", "Quieting", "Rung", "climb", "quieting", "settled"]
