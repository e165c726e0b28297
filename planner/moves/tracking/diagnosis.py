"""What may be otherwise in the room than planned: each thing by itself, with what would then be read.

Why so: a reading is compared with one season's state, and each suspect is a state of its own that the
ledger adds up: what explains a difference is computed, not guessed from words.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from planner.domain.machines import Spec
from planner.domain.site import Site
from planner.domain.state import Machine, State, state_today
from planner.ledger import ledger
from planner.ledger.sums import SeasonLedger


@dataclass(frozen=True)
class Suspect:
    """One thing that may be otherwise, in words, and what the room would be like then."""

    words: str
    book: SeasonLedger


def suspects(site: Site, state: State, season: str) -> tuple[Suspect, ...]:
    """Build what may be otherwise than in a state, each with its ledger of a season."""
    found = []
    for words, other_site, other in _otherwise(site, state, season):
        try:
            found.append(Suspect(words, ledger(other_site, other).season(season)))
        except ValueError:
            continue  # a room that never settles is not one that somebody has read
    return tuple(found)


def _otherwise(site: Site, state: State, season: str) -> Iterator[tuple[str, Site, State]]:
    for name in sorted(state.measures):
        target = site.measure[name].target
        where = "" if target in name else f" on {target}"
        yield f"{name}{where} had no effect", site, replace(state, measures=state.measures - {name})
    here = {machine.name for machine in state.machines}
    for machine in state_today(site).machines:
        if machine.name not in here:
            still = replace(machine, services=())
            yield f"{machine.name} were still on", site, replace(state, machines=(*state.machines, still))
    for machine in state.machines:
        left = tuple(other for other in state.machines if other is not machine)
        yield f"{machine.name} were off", site, replace(state, machines=left)
        yield from _at_full_speed(site, state, machine)
    yield from _cooling(site, state, season)


def _at_full_speed(site: Site, state: State, machine: Machine) -> Iterator[tuple[str, Site, State]]:
    """The fans of a machine as loud as under full load: not tuned, or its inlet is blocked."""
    sound = machine.spec(site).sound
    if sound.idle_db == sound.loaded_db:
        return

    def loud(spec: Spec) -> Spec:
        return replace(spec, sound=replace(sound, idle_db=sound.loaded_db))

    boxes = tuple(replace(b, spec=loud(b.spec)) if b.name == machine.box else b for b in site.boxes)
    kinds = tuple(replace(k, spec=loud(k.spec)) if k.name == machine.kind else k for k in site.kinds)
    whose = machine.name if machine.box else f"every {machine.kind}"
    yield f"the fans of {whose} ran as under full load", replace(site, boxes=boxes, kinds=kinds), state


def _cooling(site: Site, state: State, season: str) -> Iterator[tuple[str, Site, State]]:
    now = state.cooling.get(season, frozenset())
    before = state_today(site).cooling[season]
    for name in sorted(before - now):
        yield f"{name} still ran", site, replace(state, cooling={**state.cooling, season: now | {name}})
    for name in sorted(now):
        yield f"{name} did not run", site, replace(state, cooling={**state.cooling, season: now - {name}})
