"""The planning model: one integer programme, solved to a proven bound, and the one door to it."""

from planner.placement.asked import Options, Progress, Result
from planner.placement.instance import site_of
from planner.placement.solve import solve

__all__ = ["Options", "Progress", "Result", "site_of", "solve"]
