"""The judge of plans and of single states: the rules in their order, those about names first."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from planner.domain.plan import Plan
from planner.domain.site import Site
from planner.domain.state import State
from planner.verify.plan import aims, existence, limits, machines, measures, services
from planner.verify.plan.capacity import capacity
from planner.verify.plan.failover import restarts, spare
from planner.verify.trial import Breach, Finding, Room, Rule, Trial

_KNOWN: tuple[Rule, ...] = (
    existence.machine_known,
    existence.machine_name,
    existence.circuit_known,
    existence.service_known,
    existence.measure_known,
    existence.cooling_known,
    existence.cooling_season,
)
_PLACED: tuple[Rule, ...] = (
    services.service_once,
    machines.units,
    machines.role,
    machines.own_circuit,
    machines.residents,
    machines.alone,
    machines.stays,
    machines.empty,
    services.physical,
    services.stay_on,
    services.needs,
    services.zones,
    services.together,
    services.apart,
    services.quorum,
    capacity,
    spare,
    measures.measure_allowed,
    measures.measure_target,
    measures.measure_requires,
    measures.measure_excludes,
    measures.measure_clash,
    measures.cooling_requires,
    measures.cooling_excludes,
    limits.budget,
    limits.rack,
    limits.circuits,
    limits.heat,
)
_PLANNED: tuple[Callable[[Trial, Plan], Iterator[Finding]], ...] = (
    aims.aim_once,
    aims.aim_value,
    aims.aim_bound,
    aims.outcome,
    restarts,
)

RULES: tuple[str, ...] = tuple(rule.__name__ for rule in (*_KNOWN, *_PLACED, *_PLANNED))
"""The name of every rule, in the order in which they are checked."""

_KNOWN_NAMES = frozenset(rule.__name__ for rule in _KNOWN)


def verify_state(
    site: Site, state: State, *, allow_double: bool = False, before: Room | None = None
) -> tuple[Breach, ...]:
    """List every rule a state breaks, none for a good one.

    With ``allow_double`` it is judged as a moment on the way: a service may run on two machines, a machine
    may be empty, and what is no worse than today, ``before`` where that is known already, is not blamed.
    """
    return _judge(Trial(site, state, moving=allow_double, before=before))


def verify_plan(site: Site, plan: Plan) -> tuple[Breach, ...]:
    """List every rule a plan breaks, in its state or in what it says about it; none for a good one."""
    trial = Trial(site, plan.state)
    found = _judge(trial)
    if any(breach.rule in _KNOWN_NAMES for breach in found) or trial.unsettled:
        return found
    said = tuple(
        Breach(rule.__name__, where, message) for rule in _PLANNED for where, message in rule(trial, plan)
    )
    return found + said


def _judge(trial: Trial) -> tuple[Breach, ...]:
    """Check first what is named: a state that names unknown things cannot be added up."""
    return _check(trial, _KNOWN) or _check(trial, _PLACED)


def _check(trial: Trial, rules: tuple[Rule, ...]) -> tuple[Breach, ...]:
    return tuple(Breach(rule.__name__, where, message) for rule in rules for where, message in rule(trial))
