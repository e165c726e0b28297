"""A plan as JSON data and back: the part that is read again, and the page for whoever only reads it.

Why so: a plan file holds the state, the aims and the page. Only state, aims and outcome are read again; the
page is derived, so that a person's tool needs nothing of ours to show a plan. Rules are not checked on
reading: `verify` does that, and says it better. Names, not fingerprints, tie a plan to its inventory, which
may change after the plan was made: what matters is whether the plan still holds.

Why so: a start is read more strictly than a plan (`read_last`). The judge does not see the state that
``--again`` plans from, so one that contradicts itself is refused on reading, and what the inventory no
longer has is left out with a word.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final, Literal

from pydantic import StrictBool, StrictFloat

from planner.domain.conflict import Conflict
from planner.domain.machines import Role
from planner.domain.plan import AimResult, Outcome, Plan, Restart
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import Machine, State
from planner.placement.result import Result
from planner.report.common.conflicts import reasons
from planner.report.common.figures import finite
from planner.report.common.json_data import (
    BoxName,
    CircuitName,
    CoolingName,
    Document,
    KindName,
    MeasureName,
    PlanFileError,
    SeasonName,
    ServiceName,
    UnknownNameError,
    check_head,
    document_data,
    read_as,
    read_known,
)
from planner.report.plan.alternatives import AlternativesPage
from planner.report.plan.build import plan_page
from planner.report.plan.page import PlanPage
from planner.report.plan.peaks import PeaksEntry

FORMAT: Final = "stillroom.plan"
VERSION: Final = 1

__all__ = ["FORMAT", "VERSION", "PlanDocument", "PlanFileError", "dump", "dump_none", "read", "read_last"]


@dataclass(frozen=True)
class AimData:
    """How good a plan is for one aim: value, bound (null where none is known) and what confirms a proof."""

    aim: Aim
    value: StrictFloat | None
    bound: StrictFloat | None
    proven: StrictBool
    confirmed_by: str | None = ""


@dataclass(frozen=True)
class MachineData:
    """A machine that is on: a box of the site, or a unit of a kind."""

    name: str
    role: Role
    circuit: CircuitName
    services: tuple[ServiceName, ...]
    box: BoxName | None
    kind: KindName | None


@dataclass(frozen=True)
class StateData:
    """The state that a plan reaches; ``cooling``: what runs, by season."""

    machines: tuple[MachineData, ...]
    measures: tuple[MeasureName, ...]
    cooling: dict[SeasonName, tuple[CoolingName, ...]]


@dataclass(frozen=True, kw_only=True)
class PlanDocument(Document):
    """What 'stillroom plan --json' writes and '-o' saves.

    'outcome', 'aims', 'state' and 'restarts' are read again by 'verify' and 'moves'; 'page' is what the plan
    means, and is only for reading. 'reasons' say why no plan can exist, and are empty where there is one;
    'confirmed_by' is what shows that none can, beside one run of a solver. 'contradictions': where runs of
    solvers said what cannot both be.
    """

    format: Literal["stillroom.plan"] = FORMAT
    version: Literal[1] = VERSION
    site: str
    outcome: Outcome
    stopped_by: str = ""
    reasons: tuple[str, ...] = ()
    conflicts: tuple[Conflict, ...] = ()
    confirmed_by: str = ""
    contradictions: tuple[str, ...] = ()
    aims: tuple[AimData, ...] = ()
    state: StateData | None = None
    previous: StateData | None = None
    restarts: tuple[Restart, ...] = ()
    peaks: PeaksEntry | None = None
    alternatives: AlternativesPage | None = None
    page: PlanPage | None = None


@dataclass(frozen=True)
class _Last:
    """What is read of a file to plan again from."""

    state: StateData | None


@dataclass(frozen=True)
class _Saved:
    """What is read of a plan file."""

    aims: tuple[AimData, ...]
    outcome: Outcome
    state: StateData | None
    stopped_by: str
    previous: StateData | None = None
    contradictions: tuple[str, ...] | None = None
    restarts: tuple[Restart, ...] | None = None


def dump(
    site: Site, plan: Plan, peaks: PeaksEntry | None = None, others: AlternativesPage | None = None
) -> dict[str, Any]:
    """Build a plan's JSON data; the same plan gives the same data, without any time of day in it.

    ``peaks``: what it saves that peaks do not coincide, where that was looked at. ``others``: alternatives
    to it, where they were asked for.
    """
    return document_data(
        PlanDocument(
            site=site.name,
            outcome=plan.outcome,
            stopped_by=plan.stopped_by,
            contradictions=plan.contradictions,
            aims=tuple(_aim_data(result) for result in plan.aims),
            state=_state_data(plan.state),
            previous=None if plan.previous is None else _state_data(plan.previous),
            restarts=plan.restarts,
            peaks=peaks,
            alternatives=others,
            page=plan_page(site, plan),
        )
    )


def dump_none(site: Site, result: Result) -> dict[str, Any]:
    """Build the JSON data of a solve that ended without a plan."""
    return document_data(
        PlanDocument(
            site=site.name,
            outcome=result.outcome,
            reasons=reasons(site, result.outcome, result.conflicts, result.failure),
            conflicts=result.conflicts,
            confirmed_by=result.confirmed_by,
            contradictions=result.contradictions,
        )
    )


def _aim_data(result: AimResult) -> AimData:
    value, bound = finite(result.value), finite(result.bound)
    return AimData(result.aim, value, bound, result.proven, result.confirmed_by)


def _state_data(state: State) -> StateData:
    machines = tuple(
        MachineData(item.name, item.role, item.circuit, item.services, item.box, item.kind)
        for item in state.machines
    )
    cooling = {season: tuple(sorted(names)) for season, names in sorted(state.cooling.items())}
    return StateData(machines, tuple(sorted(state.measures)), cooling)


def read(site: Site, data: object) -> Plan:
    """Read a plan from JSON data and check its names against the site; rules are the judge's matter.

    Raises
    ------
    PlanFileError
        If the data is no plan, holds none, or names something that the site does not have.
    """
    check_head(data, FORMAT, VERSION, "make the plan again")
    saved = read_as(_Saved, data, site)
    if not saved.aims:
        raise PlanFileError("aims", "a plan says how good it is for one aim at least; make the plan again")
    aims = tuple(_aim(item, f"aims[{index}]") for index, item in enumerate(saved.aims))
    state = _state(_planned(saved.state), "state")
    previous = None if saved.previous is None else _untangled(site, saved.previous, "previous")
    said, restarts = saved.contradictions or (), saved.restarts or ()
    return Plan(state, aims, saved.outcome, saved.stopped_by, previous, said, restarts)


def read_last(site: Site, data: object) -> tuple[State, tuple[UnknownNameError, ...]]:
    """Read the state of a plan that the site may have changed after, and what it names that is gone since.

    That is left out of the state: machines, services, measures and cooling. Raises PlanFileError for data
    that is no plan, or no state of any site.
    """
    check_head(data, FORMAT, VERSION, "make the plan again")
    last, dropped = read_known(_Last, data, site)
    return _untangled(site, _planned(last.state), "state"), dropped


def _planned(state: StateData | None) -> StateData:
    if state is None:
        raise PlanFileError("state", "this file holds no plan, only the reasons why there is none")
    return state


def _aim(item: AimData, where: str) -> AimResult:
    if item.value is None:
        raise PlanFileError(f"{where}.value", "expected a number, found null")
    if item.proven and item.bound is None:
        raise PlanFileError(f"{where}.bound", "what is proven has a bound; found null")
    bound = -math.inf if item.bound is None else item.bound
    return AimResult(item.aim, item.value, bound, item.proven, item.confirmed_by or "")


def _state(item: StateData, where: str) -> State:
    for index, machine in enumerate(item.machines):
        if (machine.box is None) == (machine.kind is None):
            raise PlanFileError(f"{where}.machines[{index}].box", "a machine is either a box or a kind")
    for name in _repeated(machine.name for machine in item.machines):
        raise PlanFileError(f"{where}.machines", f"two machines are called {name!r}")
    return State(
        machines=tuple(
            Machine(each.name, each.role, each.circuit, each.services, box=each.box, kind=each.kind)
            for each in item.machines
        ),
        measures=frozenset(item.measures),
        cooling={season: frozenset(names) for season, names in item.cooling.items()},
    )


def _untangled(site: Site, item: StateData, where: str) -> State:
    """Build a state that the judge does not see; one that contradicts itself is refused."""
    state = _state(item, where)
    for machine in state.machines:
        if machine.box is not None and machine.name != machine.box:
            raise PlanFileError(f"{where}.machines", f"box {machine.box!r} is called {machine.name!r}")
        if machine.box is None and machine.name in site.box:
            raise PlanFileError(f"{where}.machines", f"a unit has the name of a box, {machine.name!r}")
    for name in _repeated(name for machine in state.machines for name in machine.services):
        raise PlanFileError(f"{where}.machines", f"service {name!r} runs more than once")
    return state


def _repeated(names: Iterable[str]) -> list[str]:
    return [name for name, count in Counter(names).items() if count > 1]
