"""Limits of the whole: rack units, circuits, money, room temperature."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from planner.domain.site import Site
from planner.domain.state import State, role_today
from planner.tolerances import TEMPERATURE_K
from planner.verify.trial import Finding, Trial, exceeds, number


@dataclass(frozen=True)
class Bill:
    """What a state takes to reach: money, hours of work, and the number of things bought or done."""

    money: float
    hours: float
    things: int


def bill(site: Site, state: State) -> Bill:
    """Add up units bought, boxes re-used, cooling that runs and is not owned, and measures."""
    lines = [(site.kind[item.kind].price, site.kind[item.kind].hours) for item in state.machines if item.kind]
    for machine in state.machines:
        if machine.box is not None and machine.role is not role_today(site, machine.box):
            lines.append((site.box[machine.box].reuse_price, site.box[machine.box].reuse_hours))
    for option in site.cooling:
        if not option.owned and any(option.name in names for names in state.cooling.values()):
            lines.append((option.price, option.hours))
    lines += [(site.measure[name].price, site.measure[name].hours) for name in sorted(state.measures)]
    return Bill(sum(price for price, _ in lines), sum(hours for _, hours in lines), len(lines))


def budget(trial: Trial) -> Iterator[Finding]:
    """What is bought costs no more than the budget; work is not counted."""
    money, most = bill(trial.site, trial.state).money, trial.site.policy.budget
    if most is not None and exceeds(money, most):
        currency = trial.site.currency
        yield "budget", f"the plan costs {number(money)} {currency}, the budget is {number(most)} {currency}"


def rack(trial: Trial) -> Iterator[Finding]:
    """What is there takes no more rack units than the room has; on the way, or than it takes today."""
    most, taken = trial.site.room.rack_u, trial.room.rack_u
    if most is None:
        return
    allowed = max(most, trial.then.rack_u) if trial.moving else most
    if taken > allowed:
        yield "rack", f"machines and gear take {taken} rack units, the room has {most}"


def circuits(trial: Trial) -> Iterator[Finding]:
    """No circuit carries more than it may for hours; on the way, or than it carries today."""
    for circuit in trial.site.supply.circuits:
        load_w, most_w = trial.room.circuits_w[circuit.name], circuit.continuous_w
        if exceeds(load_w, max(most_w, trial.then.circuits_w[circuit.name]) if trial.moving else most_w):
            sentence = f"{circuit.name} carries up to {number(load_w)} W, for hours it may carry "
            yield circuit.name, f"{sentence}{number(most_w)} W"


def heat(trial: Trial) -> Iterator[Finding]:
    """In every season the room stays at or under the inlet limit; on the way, or under today's."""
    if trial.unsettled:
        yield "room", trial.unsettled
        return
    most_c = trial.site.policy.inlet_limit_c
    for season, (heat_w, warm_c) in trial.room.warm.items():
        allowed_c = most_c
        if trial.moving:
            allowed_c = max(most_c, math.inf if trial.then.unsettled else trial.then.warm[season][1])
        if not warm_c <= allowed_c + TEMPERATURE_K:
            sentence = f"in {season} {number(heat_w)} W of heat bring the room to "
            yield season, f"{sentence}{number(warm_c)} °C, the limit is {number(most_c)} °C"
