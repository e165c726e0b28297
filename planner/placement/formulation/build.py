"""Build the whole model of a problem."""

from __future__ import annotations

from planner.placement.formulation.assignment import Model, add_variables
from planner.placement.formulation.capacity_rows import add_limits
from planner.placement.formulation.cliques import add_cliques
from planner.placement.formulation.failover_rows import add_spare
from planner.placement.formulation.peak_hours import first_hours
from planner.placement.formulation.problem import Problem
from planner.placement.formulation.rule_rows import add_rules
from planner.placement.formulation.thermal import add_climate


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
