"""Which figures of a site nobody measured or declared, and which sums rest on them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from planner.domain.site import Site
from planner.domain.state import State
from planner.ledger import Ledger, SeasonLedger
from planner.physics import sound
from planner.report.common.entries import AssumedEntry

POWER_FIGURES = frozenset({"power"})
CLIMATE_FIGURES = POWER_FIGURES | {"setpoint"}
MEAN_POWER_FIGURES = POWER_FIGURES | {"duty"}
LEAK_FIGURES = frozenset({"size", "leak_m3_s"})
ROOM_SOUND_FIGURES = frozenset({"size", "surfaces"})
ROOM_AIR_FIGURES = LEAK_FIGURES | {"ua_w_k"}
SOUND_FIGURES = frozenset({"sound"})
SPECTRUM_TOO = SOUND_FIGURES | {"spectrum"}
"""Through a partition a level leans on its octave bands as much as on its total."""

HEARD_DB = 0.5
"""A level rests on assumed sources when it would be lower by this much without them."""


def _things(site: Site) -> Iterator[tuple[str, frozenset[str], str | None]]:
    """Look up (name, assumed figures, origin of its sound) of everything in a site that has any."""
    yield "room", site.room.assumed, None
    for listener in site.listeners:
        yield listener.name, listener.assumed, None
    for box in site.boxes:
        yield box.name, box.assumed, box.spec.sound.origin
    for service in site.services:
        yield service.name, service.assumed, None
    for gear in site.gear:
        yield gear.name, gear.assumed, gear.sound.origin
    for kind in site.kinds:
        yield kind.name, kind.assumed, kind.spec.sound.origin
    for option in site.cooling:
        yield option.name, option.assumed, option.sound.origin
    for measure in site.measures:
        yield measure.name, measure.assumed, None


def assumed_entries(site: Site, names: Iterable[str] | None = None) -> tuple[AssumedEntry, ...]:
    """Find what is assumed about the things named (all of them by default), in the site's order."""
    wanted = None if names is None else frozenset(names)
    found: list[AssumedEntry] = []
    for name, figures, origin in _things(site):
        if wanted is not None and name not in wanted:
            continue
        all_of_it = sorted(figures | ({"sound"} if origin == "assumed" else set()))
        if all_of_it:
            found.append(AssumedEntry(name, tuple(all_of_it)))
    return tuple(found)


def names_in(site: Site, state: State) -> frozenset[str]:
    """Look up the names of all things that count in a state."""
    machines = {machine.box or machine.kind or "" for machine in state.machines}
    services = {name for machine in state.machines for name in machine.services}
    running = frozenset().union(*state.cooling.values())
    listeners = {item.name for item in site.listeners}
    gear = {item.name for item in site.gear}
    return frozenset({"room"} | machines | services | running | listeners | gear | state.measures)


def power_assumed(site: Site, state: State, figures: frozenset[str] = POWER_FIGURES) -> bool:
    """Say whether a figure of something that is on was assumed, a watt figure if no other is named."""
    machines = [(site.box[m.box] if m.box else site.kind[m.kind or ""]).assumed for m in state.machines]
    running = frozenset().union(*state.cooling.values())
    cooling = [option.assumed for option in site.cooling if option.name in running]
    sets = [*machines, *(gear.assumed for gear in site.gear), *cooling]
    return any(figures & names for names in sets)


def climate_assumed(site: Site, state: State) -> bool:
    """Say whether a room temperature rests on assumed figures of the room or of the watts in it."""
    return bool(site.room.assumed & ROOM_AIR_FIGURES) or power_assumed(site, state, CLIMATE_FIGURES)


def level_assumed(site: Site, book: Ledger, listener: str) -> bool:
    """Say whether the level at a listener leans on sources or paths that nobody measured or declared."""
    place = next(item for item in site.listeners if item.name == listener)
    if place.assumed or site.room.assumed & ROOM_SOUND_FIGURES:
        return True
    doubtful = SOUND_FIGURES if place.partition is None else SPECTRUM_TOO
    guessed = {name for name, figures, _ in _things(site) if figures & doubtful}
    return any(_leans(entry, listener, guessed) for entry in book.seasons)


def _leans(entry: SeasonLedger, listener: str, guessed: set[str]) -> bool:
    known = [
        source.levels_dba[listener]
        for source in entry.sources
        if not source.assumed and source.name not in guessed
    ]
    if len(known) == len(entry.sources):
        return False
    rest = sound.add_levels(*known) if known else -math.inf
    return entry.levels_dba[listener] - rest >= HEARD_DB
