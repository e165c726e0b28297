"""The steps a practitioner may take next: a measure with what it needs, or other cooling in place of one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import chain, combinations

from planner.domain.air import Cooling
from planner.domain.measures import ROOM, Measure
from planner.domain.site import Site
from planner.domain.state import State
from planner.ledger.sums import ledger
from planner.verify import verify_state

MOST_TOGETHER = 2
"""So many cooling options may take the place of one."""


@dataclass(frozen=True)
class Step:
    """A step and the state it leads to; ``on`` is the source it is taken on, or the room.

    ``starts`` and ``stops`` run in some season now, or in none any more; in ``seasons`` the option that the
    step is taken on stops.
    """

    on: str
    state: State
    measures: tuple[str, ...] = ()
    starts: tuple[str, ...] = ()
    stops: tuple[str, ...] = ()
    seasons: tuple[str, ...] = ()


def measures_on(site: Site, state: State, target: str) -> Iterator[Step]:
    """List a step for each allowed measure on a target that is not taken, with the measures it requires.

    A measure that brings another sound takes the place of one that was taken before.
    """
    for measure in site.measures:
        if measure.target != target or measure.name in state.measures or not measure.allowed:
            continue
        bundle = with_required(site, state, measure)
        if bundle is not None:
            taken = (state.measures - _replaced(site, state, measure)) | set(bundle)
            yield Step(target, replace(state, measures=frozenset(taken)), bundle)


def with_required(site: Site, state: State, measure: Measure) -> tuple[str, ...] | None:
    """List a measure after those it requires and that are not taken; None when one is not to be had."""
    found: list[str] = []
    waiting = [measure.name]
    while waiting:
        name = waiting.pop()
        if name in found or name in state.measures or name in site.cooling_option:
            continue
        if name not in site.measure or not site.measure[name].allowed:
            return None
        found.append(name)
        waiting += sorted(site.measure[name].requires)
    return tuple(reversed(found))


def _replaced(site: Site, state: State, measure: Measure) -> frozenset[str]:
    """List the measures that must go for this one: at most one brings a sound, none beside a removal."""
    effect = measure.source_effect
    if effect is None:
        return frozenset()
    gone = set()
    for name in state.measures:
        other = site.measure[name]
        clash = other.source_effect is not None and other.target == measure.target
        if clash and other.source_effect is not None:
            both = effect.sound is not None and other.source_effect.sound is not None
            if both or effect.takes_out or other.source_effect.takes_out:
                gone.add(name)
    return frozenset(gone)


def instead_of(site: Site, state: State, option: str) -> Iterator[Step]:
    """List the steps that stop a cooling option in every season where others hold the heat."""
    others = [item for item in site.cooling if item.name != option]
    groups = chain.from_iterable(combinations(others, size) for size in range(MOST_TOGETHER + 1))
    for group in groups:
        step = _exchange(site, state, option, group)
        if step is not None:
            yield step


def _exchange(site: Site, state: State, option: str, group: tuple[Cooling, ...]) -> Step | None:
    measures = _needed_measures(site, state, group)
    if measures is None:
        return None
    taken = state.measures | set(measures)
    cooling = {name: frozenset(names) for name, names in state.cooling.items()}
    for season in site.seasons:
        if option not in cooling.get(season.name, frozenset()):
            continue
        runnable = {item.name for item in group if season.name in item.removal}
        changed = {**cooling, season.name: (cooling[season.name] - {option}) | runnable}
        if holds_heat(site, State(state.machines, taken, changed), season.name):
            cooling = changed
    # What was done to an option that no longer runs anywhere goes with it.
    running = frozenset[str]().union(*cooling.values())
    kept = {name for name in taken if not _is_idle(site, running, site.measure[name].target)}
    new = State(state.machines, frozenset(kept), cooling)
    before = frozenset[str]().union(*state.cooling.values())
    if new.cooling == state.cooling:
        return None
    seasons = tuple(name for name, names in state.cooling.items() if option in names - cooling[name])
    starts, stops = tuple(sorted(running - before)), tuple(sorted(before - running))
    return Step(option, new, measures, starts, stops, seasons)


def _is_idle(site: Site, running: frozenset[str], target: str) -> bool:
    return target != ROOM and target in site.cooling_option and target not in running


def _needed_measures(site: Site, state: State, group: tuple[Cooling, ...]) -> tuple[str, ...] | None:
    found: list[str] = []
    for item in group:
        for name in sorted(item.requires & set(site.measure)):
            bundle = with_required(site, state, site.measure[name])
            if bundle is None or not site.measure[name].allowed:
                return None
            found += bundle
    return tuple(dict.fromkeys(found))


def holds_heat(site: Site, state: State, season: str) -> bool:
    """Say whether the room of a state stays under the inlet limit in a season."""
    try:
        warm_c = ledger(site, state).season(season).temperature_c
    except ValueError:
        return False
    return warm_c <= site.policy.inlet_limit_c


def keeps_limits(site: Site, state: State, start: State) -> bool:
    """Say whether a state breaks no rule or limit that the start does not break already (the judge says)."""
    known = {(item.rule, item.where) for item in verify_state(site, start)}
    return all((item.rule, item.where) in known for item in verify_state(site, state))
