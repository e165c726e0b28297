"""Builds the plan page from a site and a plan; the judge and the solver have done their work before."""

from __future__ import annotations

from collections.abc import Iterator

from planner.domain.plan import AimResult, Fate, Plan, Purchase, fate, purchases, verdict
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import State, state_today
from planner.ledger import draw
from planner.ledger.stay import louder
from planner.report.common import assumed
from planner.report.common.cautions import cautions_for
from planner.report.common.figures import finite
from planner.report.plan import balance, conditions, reasons
from planner.report.plan.failover import restart_entries, single_point_entries
from planner.report.plan.page import (
    BoxEntry,
    CoolingEntry,
    MachineEntry,
    MeasureEntry,
    PlanPage,
    ProofEntry,
    ShoppingEntry,
    VerdictEntry,
)

PRICE_FIGURES = frozenset({"price", "hours", "reuse_price", "reuse_hours"})
NOTE = (
    "These figures are estimates. Levels in a room can be foretold to about ±5 dB, differences better. "
    "Local code and licensed practice come first."
)


def plan_page(site: Site, plan: Plan) -> PlanPage:
    """Build everything that is shown of a plan."""
    state = plan.state
    sums = balance.Balance(site, state)
    everything = assumed.names_in(site, state) | assumed.names_in(site, state_today(site))
    return PlanPage(
        site=site.name,
        currency=site.currency,
        outcome=str(plan.outcome),
        stopped_by=plan.stopped_by,
        verdicts=tuple(_verdicts(site, state)),
        boxes=tuple(_boxes(site, state)),
        machines=tuple(_machines(state)),
        restarts=restart_entries(plan),
        single_points=single_point_entries(site, state),
        switch_off=switched_off(site, state),
        shopping=tuple(_shopping(site, state)),
        measures=tuple(_measures(site, state)),
        cooling=tuple(_cooling(site, state)),
        listeners=balance.listener_entries(sums),
        figures=balance.figure_entries(sums),
        saved=balance.saved_entries(sums),
        hearing=conditions.hearing_entries(site, state, sums.after),
        failures=conditions.failure_entries(site, state, sums.after),
        inlets=conditions.inlet_entries(site, sums.after),
        power=conditions.power_note(site, state),
        payback=balance.payback(sums),
        proof=tuple(proof_entry(site, result) for result in plan.aims),
        contradictions=plan.contradictions,
        cautions=cautions_for(
            site, state, sums.before.levels_dba, sums.after.levels_dba, louder(*sums.inside_dba)
        ),
        assumed=assumed.assumed_entries(site, everything),
        note=NOTE,
    )


def _verdicts(site: Site, state: State) -> Iterator[VerdictEntry]:
    for service in site.services:
        yield VerdictEntry(
            service=service.name,
            verdict=str(verdict(site, state, service.name)),
            runs_today_on=service.box,
            runs_then_on=state.where(service.name)[0].name,
            reason=reasons.service_reason(site, state, service.name),
            assumed=bool(service.assumed),
        )


def _boxes(site: Site, state: State) -> Iterator[BoxEntry]:
    today = {machine.name: machine for machine in state_today(site).machines}
    carried = {machine.box: machine.services for machine in state.machines if machine.box is not None}
    for box in site.boxes:
        yield BoxEntry(
            box=box.name,
            fate=str(fate(site, state, box.name)),
            carries=carried.get(box.name, ()),
            reason=reasons.box_reason(site, state, box.name),
            power_today_w=round(draw.machine_w(site, today[box.name], frozenset()), 1),
            assumed=bool(assumed.POWER_FIGURES & box.assumed),
        )


def _machines(state: State) -> Iterator[MachineEntry]:
    for machine in state.machines:
        yield MachineEntry(
            machine=machine.name,
            role=str(machine.role),
            bought=machine.kind is not None,
            circuit=machine.circuit,
            carries=machine.services,
        )


def switched_off(site: Site, state: State) -> tuple[str, ...]:
    """Find what may be switched off for good: boxes retired, gear taken away, cooling no longer run."""
    boxes = [box.name for box in site.boxes if fate(site, state, box.name) is Fate.RETIRE]
    taken = [site.measure[name] for name in sorted(state.measures)]
    removed = {item.target for item in taken if item.source_effect is not None and item.source_effect.removes}
    gear = [item.name for item in site.gear if item.name in removed]
    today = frozenset().union(*state_today(site).cooling.values())
    then = frozenset().union(*state.cooling.values())
    cooling = [item.name for item in site.cooling if item.name in today - then]
    return (*boxes, *gear, *cooling)


def _shopping(site: Site, state: State) -> Iterator[ShoppingEntry]:
    for line in purchases(site, state):
        yield ShoppingEntry(
            what=line.what,
            sort=line.sort,
            count=line.count,
            price_each=round(line.price_each, 2),
            price=round(line.price, 2),
            hours=round(line.hours, 2),
            assumed=bool(_assumed_of(site, line) & PRICE_FIGURES),
        )


def _assumed_of(site: Site, line: Purchase) -> frozenset[str]:
    if line.sort == "machine":
        return site.kind[line.what].assumed
    if line.sort == "cooling":
        return site.cooling_option[line.what].assumed
    return site.measure[line.what].assumed if line.sort == "measure" else site.box[line.what].assumed


def _measures(site: Site, state: State) -> Iterator[MeasureEntry]:
    for item in site.measures:
        if item.name in state.measures:
            yield MeasureEntry(item.name, item.target, round(item.price, 2), round(item.hours, 2))


def _cooling(site: Site, state: State) -> Iterator[CoolingEntry]:
    today = state_today(site).cooling
    for season in site.seasons:
        yield CoolingEntry(
            season=season.name,
            surroundings_c=season.surroundings_c,
            quiet=season.quiet,
            today=tuple(sorted(today[season.name])),
            then=tuple(sorted(state.cooling.get(season.name, frozenset()))),
        )


def proof_entry(site: Site, result: AimResult) -> ProofEntry:
    """Say what an aim's value means here, and how close it is to the best there can be."""
    targeted = any(item.target_dba is not None for item in site.listeners)
    meanings = {
        Aim.SOUND: ("over the targets", "dB") if targeted else ("at the loudest listener", "dBA"),
        Aim.POWER: ("mean over the year", "W"),
        Aim.COST: ("money and work", site.currency),
        Aim.CHANGE: ("things changed", ""),
    }
    means, unit = meanings[result.aim]
    bounded = finite(result.bound) is not None
    return ProofEntry(
        aim=str(result.aim),
        means=means,
        unit=unit,
        value=finite(result.value, 2),
        bound=finite(result.bound, 2),
        gap=finite(result.gap, 2) if bounded else None,
        proven=result.proven,
        confirmed_by=result.confirmed_by or None,
    )
