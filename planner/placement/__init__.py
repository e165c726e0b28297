"""The planning model: one integer programme, solved to a proven bound, and the one door to it."""

from planner.placement.result import Options, Progress, Result
from planner.placement.solve import solve
from planner.placement.studies.packing_instance import site_of

__all__ = ["Options", "Progress", "Result", "site_of", "solve"]
