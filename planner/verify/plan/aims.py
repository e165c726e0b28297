"""Whether a plan is as good, and as proven, as it says."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from planner.domain.machines import Role
from planner.domain.plan import Outcome, Plan
from planner.domain.rules import Aim
from planner.domain.state import State, role_today
from planner.tolerances import BOUND_SHARE, LEVEL_DB, PROVEN_SHARE
from planner.verify.plan.limits import bill
from planner.verify.plan.sampling import held_dba
from planner.verify.trial import Finding, Trial, differs, number

STEP_DB = 0.5
SCATTER_DB = 0.2
"""How far two samples of 20,000 may put the level that 95 % keep apart (standard error about 0.04 dB)."""

UNITS = {Aim.SOUND: " dB", Aim.POWER: " W", Aim.COST: "", Aim.CHANGE: " changes"}


def aim_once(trial: Trial, plan: Plan) -> Iterator[Finding]:
    """A plan gives each aim's result at most once."""
    del trial
    for aim, count in Counter(result.aim for result in plan.aims).items():
        if count > 1:
            yield aim, f"the plan gives {count} results for {aim}"


def aim_value(trial: Trial, plan: Plan) -> Iterator[Finding]:
    """Each value of a plan is the one that its state adds up to."""
    for result in plan.aims:
        found = value_of(trial, result.aim, plan.previous)
        if result.aim is Aim.SOUND and is_surely(trial, result.value):
            continue
        if differs(result.value, found):
            unit = UNITS[result.aim]
            sentence = f"{result.aim} is said to be {number(result.value)}{unit}; it is {number(found)}{unit}"
            yield result.aim, sentence


def aim_bound(trial: Trial, plan: Plan) -> Iterator[Finding]:
    """No bound lies over its value, and a proven value's bound is that value."""
    del trial
    for result in plan.aims:
        over = not result.bound <= result.value + BOUND_SHARE * max(1.0, abs(result.value))
        loose = result.proven and differs(result.bound, result.value, PROVEN_SHARE)
        if over or loose:
            said = "proven" if result.proven else "not proven"
            sentence = (
                f"{result.aim} is {number(result.value)}, {said}, with a bound of {number(result.bound)}"
            )
            yield result.aim, sentence


def outcome(trial: Trial, plan: Plan) -> Iterator[Finding]:
    """A plan that calls itself proven has every aim proven, and no plan comes with an outcome of none."""
    del trial
    open_aims = [str(result.aim) for result in plan.aims if not result.proven]
    if plan.outcome is Outcome.PROVEN and open_aims:
        yield "outcome", f"the plan is called proven, but {', '.join(open_aims)} is not"
    if plan.outcome in (Outcome.STOPPED_EMPTY, Outcome.INFEASIBLE, Outcome.FAILED):
        yield "outcome", f"there is a plan, but the outcome says: {plan.outcome}"


def value_of(trial: Trial, aim: Aim, previous: State | None = None) -> float:
    """Compute an aim's value, in its unit, from site and state alone (changes: and an earlier plan's)."""
    if aim is Aim.SOUND:
        return _over_targets_db(trial)
    if aim is Aim.POWER:
        return trial.book.mean_power_w
    if aim is Aim.COST:
        due = bill(trial.site, trial.state)
        return due.money + due.hours * trial.site.policy.labour_per_hour
    return float(_changed(trial) if previous is None else _differing(trial, previous))


def is_surely(trial: Trial, said_db: float) -> bool:
    """Say whether a sound value is right within what sampling scatters, where targets carry a confidence."""
    if all(item.confidence is None for item in trial.site.listeners):
        return False
    return _over_targets_db(trial, -SCATTER_DB) <= said_db <= _over_targets_db(trial, SCATTER_DB)


def _over_targets_db(trial: Trial, more_db: float = 0.0) -> float:
    """Compute the fewest half decibels that cover what is heard over the targets (over 0 when there is none).

    Where a target carries a confidence, the level that so many samples keep counts, and ``more_db``.
    """
    heard = {
        item.name: trial.book.levels_dba[item.name]
        if item.confidence is None
        else held_dba(trial, item) + more_db
        for item in trial.site.listeners
    }
    targets = {item.name: item.target_dba for item in trial.site.listeners if item.target_dba is not None}
    limits = targets or dict.fromkeys((item.name for item in trial.site.listeners), 0.0)
    steps = 0
    while any(heard[name] > limit + steps * STEP_DB + LEVEL_DB for name, limit in limits.items()):
        steps += 1
    return steps * STEP_DB


def _differing(trial: Trial, previous: State) -> int:
    """Count what is otherwise than in an earlier plan: services, boxes, units, measures, cooling."""
    site, now = trial.site, trial.state
    here, there = _runs_on(now), _runs_on(previous)
    otherwise = [here.get(name) != there[name] for name in there if name in site.service]
    roles, ever = _box_roles(now), _box_roles(previous)
    otherwise += [roles.get(name) != ever.get(name) for name in site.box]
    otherwise += [(name in previous.measures) != (name in now.measures) for name in site.measure]
    for season in site.seasons:
        cooled = [state.cooling.get(season.name, frozenset()) for state in (previous, now)]
        otherwise += [(name in cooled[0]) != (name in cooled[1]) for name in site.cooling_option]
    kinds = [Counter(machine.kind for machine in state.machines) for state in (previous, now)]
    return sum(otherwise) + sum(abs(kinds[0][name] - kinds[1][name]) for name in site.kind)


def _runs_on(state: State) -> dict[str, tuple[str | None, str | None, Role]]:
    return {
        name: (machine.box, machine.kind, machine.role)
        for machine in state.machines
        for name in machine.services
    }


def _box_roles(state: State) -> dict[str, Role]:
    return {machine.box: machine.role for machine in state.machines if machine.box is not None}


def _changed(trial: Trial) -> int:
    """Count services that run elsewhere or otherwise, things bought or done, boxes off, cooling switched."""
    site, state = trial.site, trial.state
    as_today = {
        (machine.box, name)
        for machine in state.machines
        if machine.box is not None and machine.role is role_today(site, machine.box)
        for name in machine.services
    }
    moved = sum((service.box, service.name) not in as_today for service in site.services)
    off = len(set(site.box) - {machine.box for machine in state.machines})
    switched = 0
    for season in site.seasons:
        before = {option.name for option in site.cooling if season.name in option.runs_today}
        switched += len(before ^ state.cooling.get(season.name, frozenset()))
    return moved + bill(site, state).things + off + switched
