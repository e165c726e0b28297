"""The one integer programme: placement, purchases, re-use, measures, cooling and room variant together."""

from planner.placement.model.build import build
from planner.placement.model.core import Model

__all__ = ["Model", "build"]
