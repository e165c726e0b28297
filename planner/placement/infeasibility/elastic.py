"""When no plan can exist: the smallest loosening of limits, then of rules, that would let one exist.

Each row that may give way gets a slack with a price; what the cheapest repair uses is said in words.
"""

from __future__ import annotations

import threading
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import pulp

from planner.domain.resources import RESOURCES
from planner.domain.site import Site
from planner.eligibility import figure
from planner.ledger import climate
from planner.placement.formulation import Model
from planner.solver import Limits, run

USED = 1e-6
"""A slack under this share of its limit is rounding."""


@dataclass(frozen=True)
class Loose:
    """A row that may give way: its slack, and what a unit of it is worth (one limit's own size)."""

    row: str
    slack: pulp.LpVariable
    size: float


def repairs(model: Model, limits: Limits, cancel: threading.Event | None = None) -> tuple[str, ...]:
    """Give what would have to give way for a plan to exist, in words; empty when not even that is found."""
    rows = model.program.rows
    for may_give in (_is_limit, _is_limit_or_rule, _is_limit_rule_or_capacity):
        loose = [loosen(model, name) for name in rows if may_give(name)]
        extra = {item.row: relaxed(rows[item.row], item.slack) for item in loose}
        price = model.program.total([(item.slack, 1.0 / item.size) for item in loose])
        answer = run(model.program, price, replace(limits, relative_gap=1e-3), extra=extra, cancel=cancel)
        if answer.found:
            return tuple(dict.fromkeys(_sentences(model, loose, answer.values)))
    return ()


def _is_limit(name: str) -> bool:
    return name in ("budget", "rack units") or name.startswith(("circuit:", "heat:"))


def _is_limit_or_rule(name: str) -> bool:
    return _is_limit(name) or name.startswith(("apart:", "physical quorum", "zones:", "not both:"))


def _is_limit_rule_or_capacity(name: str) -> bool:
    return _is_limit_or_rule(name) or name.partition(":")[0] in RESOURCES


def loosen(model: Model, name: str) -> Loose:
    """Give a row of a model a slack with a price."""
    row = model.program.rows[name]
    size = abs(row.constant)
    if name.startswith("heat:"):
        size = 1000.0
    elif name.partition(":")[0] in RESOURCES:
        size = max((abs(c) for _, c in row.items()), default=1.0)
    slack = model.program.continuous(f"slack {len(model.program.variables)}:{name}", upper=None)
    return Loose(name, slack, max(size, 1.0))


def relaxed(row: pulp.LpConstraint, slack: pulp.LpVariable) -> pulp.LpConstraint:
    """Give a row, no equality, with its slack in it."""
    body = pulp.LpAffineExpression(dict(row.items()), constant=row.constant)
    return body + slack >= 0 if row.sense == pulp.LpConstraintGE else body - slack <= 0


def _sentences(model: Model, loose: Iterable[Loose], values: Mapping[str, float]) -> list[str]:
    amounts = {item.row: values[item.slack.name] for item in loose}
    return [
        _sentence(model.problem.site, item.row, amounts[item.row])
        for item in loose
        if amounts[item.row] > USED * item.size
    ]


def _sentence(site: Site, row: str, amount: float) -> str:
    sort, _, rest = row.partition(":")
    found = _limit_words(site, sort, rest, amount) or _other_words(sort, rest, amount)
    return found or f"{row} would have to give way by {figure(amount)}"


def _limit_words(site: Site, sort: str, rest: str, amount: float) -> str:
    if sort == "budget":
        budget = f"{figure(site.policy.budget or 0)} {site.currency}"
        return f"the budget of {budget} would have to be {figure(amount)} more"
    if sort == "rack units":
        return f"the rack of {site.room.rack_u} units would have to be {figure(amount)} units higher"
    if sort == "circuit":
        limit = site.circuit[rest].continuous_w
        return f"circuit {rest} carries {figure(limit)} W for hours; {figure(amount)} W more would be needed"
    if sort == "heat":
        return (
            f"in {rest}, {figure(amount)} W more would have to be taken out of the room to stay at "
            f"{figure(site.policy.inlet_limit_c)} °C; {_else_warm(site, rest, amount)}"
        )
    return ""


def _else_warm(site: Site, season_name: str, too_much_w: float) -> str:
    """Say how warm the room gets with so many watts too much, where only walls and gaps take them."""
    season = next(item for item in site.seasons if item.name == season_name)
    limit_c = site.policy.inlet_limit_c
    per_kelvin = climate.room_capacity_w(site, season, (), limit_c + 1.0) - climate.room_capacity_w(
        site, season, (), limit_c
    )
    if per_kelvin <= 0.0:
        return "without that it has no path for its heat and gets warmer without end"
    return f"without that it would reach {figure(round(limit_c + too_much_w / per_kelvin, 1))} °C"


def _other_words(sort: str, rest: str, amount: float) -> str:
    first, _, machine = rest.rpartition("@")
    if sort in RESOURCES:
        label, unit = RESOURCES[sort].label, RESOURCES[sort].unit
        return f"{first} would need {figure(amount)} {unit} more of {label}"
    if sort == "apart":
        who = " and ".join(first.split("/"))
        return f"{who} would have to share {machine}, against the rule that keeps them apart"
    if sort.startswith("physical quorum"):
        return f"{figure(amount)} fewer of {', '.join(rest.split('/'))} would have to stay physical"
    if sort == "zones":
        return f"{rest} would have to carry {figure(amount)} zones more"
    if sort == "not both":
        return f"{' and '.join((first or rest).split('/'))} would have to go together"
    return ""
