"""The one integer programme: placement, purchases, re-use, measures, cooling and room variant together."""

from planner.placement.formulation.assignment import Model
from planner.placement.formulation.build import build

__all__ = ["Model", "build"]
