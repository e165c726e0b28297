"""The best plan of a site by a constraint solver, from a formulation of its own."""

from __future__ import annotations

import pickle
import sys
from collections.abc import Callable, Iterable

from ortools.sat.python import cp_model

from planner.domain.plan import SOUND_STEP_DB
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import Machine, State
from tests.oracles.cpsat_model import Encoding, Unit
from tests.oracles.cpsat_sums import CENT, WATT, add_limits, changes, hold_sound, mean_power, money
from tests.oracles.elsewhere import Found
from tests.oracles.order import GIVE_BACK, values_of

Rule = Callable[[Encoding], None]
SECONDS = 60.0
WORKERS = 4
ROUNDING = 30
"""By how many units the scaled watts of equal states may differ."""


class UnsureError(RuntimeError):
    """The constraint solver ran out of time, or a level lies within rounding of a half decibel."""


def best(site: Site, aims: Iterable[Aim]) -> Found:
    """Make the best state in an order of aims, each held while the next is improved, or UnsureError."""
    rules: list[Rule] = []
    state = _solve(site, rules, None)
    if state is None:
        return Found(None, {})
    for aim in aims:
        state = _quietest(site, rules, state) if aim is Aim.SOUND else _least(site, rules, aim)
        rules.append(_holding(aim, values_of(site, state)[aim]))
    return Found(state, values_of(site, state))


def _quietest(site: Site, rules: list[Rule], state: State) -> State:
    reached, refused = values_of(site, state)[Aim.SOUND], -SOUND_STEP_DB
    while reached - refused > SOUND_STEP_DB + 1e-9:
        steps = round((reached - refused) / SOUND_STEP_DB)
        asked = refused + SOUND_STEP_DB * (1 if refused < 0.0 else steps // 2)
        found = _solve(site, [*rules, _holding(Aim.SOUND, asked)], None)
        if found is None:
            refused = asked
            continue
        level = values_of(site, found)[Aim.SOUND]
        if level > asked:
            raise UnsureError(f"{site.name}: a level within rounding of {asked} dB over the target")
        state, reached = found, level
    return state


def _least(site: Site, rules: list[Rule], aim: Aim) -> State:
    state = _solve(site, rules, aim)
    if state is None:
        raise UnsureError(f"{site.name}: {aim} has no answer where there was one")
    return state


def _holding(aim: Aim, value: float) -> Rule:
    def hold(code: Encoding) -> None:
        if aim is Aim.SOUND:
            hold_sound(code, value)
        elif aim is Aim.POWER:
            code.model.add(mean_power(code) <= round(WATT * (value + GIVE_BACK[aim])) + ROUNDING)
        elif aim is Aim.COST:
            code.model.add(money(code, code.site.policy.labour_per_hour) <= round(CENT * value))
        else:
            code.model.add(changes(code) <= round(value))

    return hold


def _solve(site: Site, rules: Iterable[Rule], aim: Aim | None) -> State | None:
    """Make a state that keeps the rules, the best in an aim if one is given; None when there is none."""
    code = Encoding(site)
    add_limits(code)
    for rule in rules:
        rule(code)
    if aim is Aim.POWER:
        code.model.minimize(mean_power(code))
    elif aim is Aim.COST:
        code.model.minimize(money(code, site.policy.labour_per_hour))
    elif aim is Aim.CHANGE:
        code.model.minimize(changes(code))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = SECONDS
    solver.parameters.num_workers = WORKERS
    # Its search for rows within rows calls some programmes with large figures infeasible that are not.
    solver.parameters.presolve_inclusion_work_limit = 0
    status = solver.solve(code.model)
    if status == cp_model.INFEASIBLE:
        return None
    if status != cp_model.OPTIMAL:
        raise UnsureError(f"{site.name}: {solver.status_name(status)}")
    return _read(code, solver)


def _read(code: Encoding, solver: cp_model.CpSolver) -> State:
    machines = tuple(_machine(code, solver, unit) for unit in code.units if solver.value(code.on[unit]))
    measures = frozenset(name for name, taken in code.take.items() if solver.value(taken))
    cooling = {
        season.name: frozenset(
            n for (n, when), runs in code.run.items() if when == season.name and solver.value(runs)
        )
        for season in code.site.seasons
    }
    return State(machines, measures, cooling)


def _machine(code: Encoding, solver: cp_model.CpSolver, unit: Unit) -> Machine:
    services = tuple(
        service.name
        for service in code.site.services
        if (service.name, unit) in code.place and solver.value(code.place[service.name, unit])
    )
    if unit.is_box:
        return Machine(unit.name, unit.role, code.site.box[unit.ref].circuit, services, box=unit.ref)
    circuit = next(name for name in code.site.circuit if solver.value(code.plug[unit, name]))
    return Machine(unit.name, unit.role, circuit, services, kind=unit.ref)


def _answer(site: Site) -> Found:
    try:
        return best(site, site.policy.aims)
    except UnsureError as error:
        return Found(None, {}, str(error))


if __name__ == "__main__":
    sys.stdout.buffer.write(pickle.dumps([_answer(site) for site in pickle.load(sys.stdin.buffer)]))
