"""When no plan can exist: the smallest loosening that lets one exist, by elastic programming.

Each row that may give way gets a slack with a price; what the cheapest repair uses is a conflict with its
amount. Limits may give way first, then rules, then what machines have (elastic filter: Chinneck and Dravnieks
1991, without its second phase).
"""

from __future__ import annotations

import threading
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import pulp

from planner.domain.conflict import Conflict, Rule, Shown
from planner.placement.formulation import Model
from planner.solver import Limits, run

USED = 1e-6
"""A slack under this share of its limit is rounding."""

COOLER_W = 1000.0
"""What the heat of a season is held against: a small cooler."""

LIMITS = frozenset((Rule.BUDGET, Rule.RACK, Rule.CIRCUIT, Rule.HEAT))
RULES = frozenset((Rule.APART, Rule.QUORUM, Rule.ZONES, Rule.EXCLUDES))
STEPS = (LIMITS, LIMITS | RULES, LIMITS | RULES | {Rule.CAPACITY, Rule.ALONE})


@dataclass(frozen=True)
class Loose:
    """A row that may give way: its slack, and what a unit of it is worth (one limit's own size)."""

    row: str
    slack: pulp.LpVariable
    size: float


def repairs(model: Model, limits: Limits, cancel: threading.Event | None = None) -> tuple[Conflict, ...]:
    """Solve for what would have to give way for a plan to exist; empty when not even that is found."""
    about = model.program.about
    for may_give in STEPS:
        names = [n for n, item in about.items() if item.shown is Shown.REPAIR and item.rule in may_give]
        found = loosened(model, names, limits, cancel)
        if found is not None:
            return keep_worst(replace(about[row], amount=much) for row, much in found[0].items())
    return ()


def keep_worst(found: Iterable[Conflict]) -> tuple[Conflict, ...]:
    """List conflicts in their order, of those that differ in hour and amount only the one that lacks most."""
    worst: dict[Conflict, Conflict] = {}
    for item in found:
        key = replace(item, hour=None, amount=0.0)
        if key not in worst or item.amount > worst[key].amount:
            worst[key] = item
    return tuple(worst.values())


def loosened(
    model: Model, names: Iterable[str], limits: Limits, cancel: threading.Event | None = None
) -> tuple[Mapping[str, float], Mapping[str, float]] | None:
    """Solve with some rows loosened: how much each gives way, and the values of all variables."""
    rows = model.program.rows
    loose = [_loosen(model, name) for name in names]
    extra = {item.row: _relaxed(rows[item.row], item.slack) for item in loose}
    price = model.program.total([(item.slack, 1.0 / item.size) for item in loose])
    answer = run(model.program, price, replace(limits, relative_gap=1e-3), extra=extra, cancel=cancel)
    if not answer.found:
        return None
    amounts = {item.row: answer.values[item.slack.name] for item in loose}
    used = {item.row: amounts[item.row] for item in loose if amounts[item.row] > USED * item.size}
    return used, answer.values


def _loosen(model: Model, name: str) -> Loose:
    row, rule = model.program.rows[name], model.program.about[name].rule
    size = abs(row.constant)
    if rule is Rule.HEAT:
        size = COOLER_W
    elif rule is Rule.CAPACITY:
        size = max((abs(c) for _, c in row.items()), default=1.0)
    slack = model.program.continuous(f"slack {len(model.program.variables)}:{name}", upper=None)
    return Loose(name, slack, max(size, 1.0))


def _relaxed(row: pulp.LpConstraint, slack: pulp.LpVariable) -> pulp.LpConstraint:
    """Copy a row, no equality, with its slack in it."""
    body = pulp.LpAffineExpression(dict(row.items()), constant=row.constant)
    return body + slack >= 0 if row.sense == pulp.LpConstraintGE else body - slack <= 0
