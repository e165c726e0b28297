"""Build the whole model of a problem."""

from __future__ import annotations

from planner.placement.model.climate import add_climate
from planner.placement.model.cliques import add_cliques
from planner.placement.model.core import Model, add_variables
from planner.placement.model.hours import first_hours
from planner.placement.model.limits import add_limits
from planner.placement.model.rules import add_rules
from planner.placement.model.spare import add_spare
from planner.placement.problem import Problem


def build(problem: Problem) -> Model:
    """Write down all variables and rows; the sound rows come later, for each level asked for."""
    model = Model(problem, hours=first_hours(problem))
    add_variables(model)
    add_rules(model)
    add_limits(model)
    add_cliques(model)
    add_spare(model)
    add_climate(model)
    return model
