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

import dataclasses
import math
from collections.abc import Iterator
from typing import Any

from planner.domain.machines import Role
from planner.domain.plan import AimResult, Outcome, Plan, Restart
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import Machine, State
from planner.placement.result import Result
from planner.report.common.conflicts import reasons
from planner.report.common.figures import finite
from planner.report.common.json_reader import PlanFileError, Reader, UnknownNameError, refuse_infinite
from planner.report.plan.alternatives import AlternativesPage
from planner.report.plan.build import plan_page
from planner.report.plan.peaks import PeaksEntry

FORMAT = "stillroom.plan"
VERSION = 1

__all__ = ["FORMAT", "VERSION", "PlanFileError", "dump", "dump_none", "read", "read_last"]


def dump(
    site: Site, plan: Plan, peaks: PeaksEntry | None = None, others: AlternativesPage | None = None
) -> dict[str, Any]:
    """Give a plan as JSON data; the same plan gives the same data, without any time of day in it.

    ``peaks``: what it saves that peaks do not coincide, where that was looked at. ``others``: alternatives
    to it, where they were asked for.
    """
    return {
        "format": FORMAT,
        "version": VERSION,
        "site": site.name,
        "outcome": str(plan.outcome),
        "stopped_by": plan.stopped_by,
        "reasons": [],
        "conflicts": [],
        "confirmed_by": "",
        "contradictions": list(plan.contradictions),
        "aims": [_aim(result) for result in plan.aims],
        "state": _state(plan.state),
        "previous": None if plan.previous is None else _state(plan.previous),
        "restarts": [page_data(item) for item in plan.restarts],
        "peaks": None if peaks is None else page_data(peaks),
        "alternatives": page_data(others),
        "page": page_data(plan_page(site, plan)),
    }


def dump_none(site: Site, result: Result) -> dict[str, Any]:
    """Give the JSON data of a solve that ended without a plan."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "site": site.name,
        "outcome": str(result.outcome),
        "stopped_by": "",
        "reasons": list(reasons(site, result.outcome, result.conflicts, result.failure)),
        "conflicts": page_data(result.conflicts),
        "confirmed_by": result.confirmed_by,
        "contradictions": list(result.contradictions),
        "aims": [],
        "state": None,
        "previous": None,
        "restarts": [],
        "peaks": None,
        "alternatives": None,
        "page": None,
    }


def page_data(page: Any) -> Any:
    """Turn a page of frozen dataclasses into lists and dicts."""
    if dataclasses.is_dataclass(page):
        return {item.name: page_data(getattr(page, item.name)) for item in dataclasses.fields(page)}
    if isinstance(page, tuple):
        return [page_data(item) for item in page]
    return page


def _aim(result: AimResult) -> dict[str, Any]:
    return {
        "aim": str(result.aim),
        "value": finite(result.value),
        "bound": finite(result.bound),
        "proven": result.proven,
        "confirmed_by": result.confirmed_by,
    }


def _state(state: State) -> dict[str, Any]:
    return {
        "machines": [
            {
                "name": machine.name,
                "role": str(machine.role),
                "circuit": machine.circuit,
                "services": list(machine.services),
                "box": machine.box,
                "kind": machine.kind,
            }
            for machine in state.machines
        ],
        "measures": sorted(state.measures),
        "cooling": {season: sorted(names) for season, names in sorted(state.cooling.items())},
    }


def read(site: Site, data: object) -> Plan:
    """Read a plan from JSON data and check its names against the site; rules are the judge's matter.

    Raises
    ------
    PlanFileError
        If the data is no plan, holds none, or names something that the site does not have.
    """
    top = _top(data)
    aims = tuple(_read_aim(item) for item in top.items("aims"))
    if not aims:
        raise PlanFileError("aims", "a plan says how good it is for one aim at least; make the plan again")
    outcome = Outcome(top.one_of("outcome", tuple(map(str, Outcome))))
    state = _read_state(site, top.inside("state"))
    previous = _read_untangled(site, top, "previous") if top.has("previous") else None
    said = tuple(top.texts("contradictions")) if top.has("contradictions") else ()
    restarts = tuple(map(_read_restart, top.items("restarts"))) if top.has("restarts") else ()
    return Plan(state, aims, outcome, top.text("stopped_by"), previous, said, restarts)


def read_last(site: Site, data: object) -> tuple[State, tuple[UnknownNameError, ...]]:
    """Read the state of a plan that the site may have changed after, and what it names that is gone since.

    That is left out of the state: machines, services, measures and cooling. Raises PlanFileError for data
    that is no plan, or no state of any site.
    """
    dropped: list[UnknownNameError] = []
    state = _read_untangled(site, _top(data), "state", dropped)
    return state, tuple(dropped)


def _top(data: object) -> Reader:
    refuse_infinite(data)
    top = Reader(data, "")
    if top.text("format") != FORMAT:
        raise PlanFileError("format", f"this is no plan; expected '{FORMAT}'")
    if top.whole("version") != VERSION:
        raise PlanFileError("version", f"only version {VERSION} can be read; make the plan again")
    if top.raw("state") is None:
        raise PlanFileError("state", "this file holds no plan, only the reasons why there is none")
    return top


def _read_untangled(
    site: Site, top: Reader, key: str, dropped: list[UnknownNameError] | None = None
) -> State:
    """Read a state that the judge does not see; one that contradicts itself is refused."""
    state = _read_state(site, top.inside(key), dropped)
    for machine in state.machines:
        if machine.box is not None and machine.name != machine.box:
            raise PlanFileError(f"{key}.machines", f"box {machine.box!r} is called {machine.name!r}")
        if machine.box is None and machine.name in site.box:
            raise PlanFileError(f"{key}.machines", f"a unit has the name of a box, {machine.name!r}")
    names = [name for machine in state.machines for name in machine.services]
    for name in names:
        if names.count(name) > 1:
            raise PlanFileError(f"{key}.machines", f"service {name!r} runs more than once")
    return state


def _read_aim(item: Reader) -> AimResult:
    proven, bound = item.flag("proven"), item.figure("bound")
    if proven and bound is None:
        raise PlanFileError(item.path("bound"), "what is proven has a bound; found null")
    return AimResult(
        aim=Aim(item.one_of("aim", tuple(map(str, Aim)))),
        value=item.number("value"),
        bound=-math.inf if bound is None else bound,
        proven=proven,
        confirmed_by=item.text("confirmed_by") if item.has("confirmed_by") else "",
    )


def _read_restart(item: Reader) -> Restart:
    return Restart(
        tuple(item.texts("lost")),
        tuple(item.pairs("to", "a service and the host it restarts on")),
        tuple(item.texts("stays_off")),
        tuple(item.texts("stranded")),
    )


def _read_state(site: Site, item: Reader, dropped: list[UnknownNameError] | None = None) -> State:
    machines = tuple(_read_machines(site, item, dropped))
    _once(item, [machine.name for machine in machines])
    cooling = item.inside("cooling")
    seasons = {season.name for season in site.seasons}
    return State(
        machines=machines,
        measures=frozenset(item.names("measures", site.measure, "measure", dropped)),
        cooling={
            season: frozenset(cooling.names(season, site.cooling_option, "cooling option", dropped))
            for season in cooling.keys(seasons, "season", dropped)
        },
    )


def _read_machines(site: Site, item: Reader, dropped: list[UnknownNameError] | None) -> Iterator[Machine]:
    for machine in item.items("machines"):
        try:
            yield _read_machine(site, machine, dropped)
        except UnknownNameError as error:
            if dropped is None:
                raise
            dropped.append(error)


def _once(item: Reader, names: list[str]) -> None:
    for name in names:
        if names.count(name) > 1:
            raise PlanFileError(item.path("machines"), f"two machines are called {name!r}")


def _read_machine(site: Site, item: Reader, dropped: list[UnknownNameError] | None) -> Machine:
    box = item.optional_name("box", site.box, "box")
    kind = item.optional_name("kind", site.kind, "kind")
    if (box is None) == (kind is None):
        raise PlanFileError(item.path("box"), "a machine is either a box or a kind")
    return Machine(
        name=item.text("name"),
        role=Role(item.one_of("role", tuple(map(str, Role)))),
        circuit=item.name("circuit", site.circuit, "circuit"),
        services=tuple(item.names("services", site.service, "service", dropped)),
        box=box,
        kind=kind,
    )
