"""Tiny works with every rule of the walk in play, so tight that about half of them have no order at all."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, time

from planner.domain.machines import Circuit
from planner.domain.rules import Apart, Recurring, Together, Windows
from planner.domain.services import Service
from planner.domain.site import Site
from planner.domain.state import State, state_today
from planner.moves.tasks.state_difference import Change
from planner.moves.tasks.work_packages import Work, work_of
from planner.verify import verify_state
from planner.verify.trial import Room
from tests.kit.sites import random_site
from tests.moves.targets import easy_target, target

MOST_BLOCKS = 7
ROLES = ("directory", "dns", "storage", "backup", "database")
WEEKS = (
    (Recurring(5, time(8), 6.0), Recurring(2, time(19), 3.0)),
    tuple(Recurring(day, time(1), 4.0) for day in range(7)),
    (Recurring(5, time(22), 9.0),),
)


def tiny_work(seed: int) -> Work | None:
    """Make the work of a seed; None where no good state to reach is found soon, or it is too large."""
    rng = random.Random(f"work {seed}")
    site = random_site(
        seed,
        boxes=rng.choice((2, 3)),
        services=rng.choice((2, 3, 4)),
        gear=1,
        measures=rng.choice((0, 1, 2)),
        cooling=rng.choice((0, 1, 2)),
        room_measures=rng.choice((0, 1)),
        seasons=1,
        slots=1,
    )
    site = _related(rng, replace(site, windows=Windows("Europe/Vienna", rng.choice(WEEKS))))
    state = next(_targets(site, seed), None)
    if state is None:
        return None
    tight = _tightened(rng, site, state)
    found = work_of(Change(tight, state))
    return found if 0 < len(found.blocks) <= MOST_BLOCKS else None


def _targets(site: Site, seed: int) -> Iterator[State]:
    today = state_today(site)
    for number in range(12):
        state = target(site, 100 * seed + number)
        if state != today and not verify_state(site, state):
            yield state
    easy = easy_target(site, seed)
    if easy is not None and easy != today:
        yield easy


def _related(rng: random.Random, site: Site) -> Site:
    """Make services roles, dependencies, rings of them among others, and rules of co-scheduling."""
    names = [item.name for item in site.services]

    def one(item: Service) -> Service:
        others = [name for name in names if name != item.name]
        roles = frozenset({rng.choice(ROLES)}) if rng.random() < 0.4 else frozenset()
        depends = tuple(rng.sample(others, 1)) if rng.random() < 0.5 else ()
        return replace(item, roles=roles, depends_on=depends, physical=None)

    services = tuple(one(item) for item in site.services)
    pairs = [
        frozenset({a.name, b.name}) for a in services for b in services if a.name < b.name and a.box == b.box
    ]
    together = tuple(Together(pair, "shared files") for pair in pairs if rng.random() < 0.3)
    apart = tuple(Apart(pair, "twins") for pair in pairs if rng.random() < 0.3 and not _in(pair, together))
    return replace(site, services=services, together=together, apart=apart)


def _in(pair: frozenset[str], rules: tuple[Together, ...]) -> bool:
    return any(pair <= rule.services for rule in rules)


def _tightened(rng: random.Random, site: Site, state: State) -> Site:
    """Leave little more of rack, circuits and cooling than today and the state to reach ask for."""
    rooms = [Room(site, state_today(site)), Room(site, state)]
    rack_u = max(room.rack_u for room in rooms) + rng.choice((0, 0, 1, 2))
    circuits = tuple(
        _circuit(
            item, max(room.circuits_w[item.name] for room in rooms) + rng.choice((5.0, 60.0, 250.0)), rng
        )
        for item in site.supply.circuits
    )
    warm = [max(c for _, c in room.warm.values()) for room in rooms if not room.unsettled]
    limit_c = max(warm, default=30.0) + rng.choice((0.3, 1.0, 5.0))
    policy = replace(site.policy, inlet_limit_c=max(limit_c, site.policy.inlet_limit_c - 10.0))
    return replace(
        site,
        room=replace(site.room, rack_u=rng.choice((None, rack_u, rack_u))),
        supply=replace(site.supply, circuits=circuits),
        policy=policy if rng.random() < 0.7 else site.policy,
    )


def _circuit(item: Circuit, most_w: float, rng: random.Random) -> Circuit:
    if rng.random() < 0.3:
        return item
    return replace(item, continuous_w=most_w, breaker_a=most_w * rng.choice((1.05, 1.25, 2.0)) / item.volts)


FIRST_DAY = date(2027, 3, 1)
