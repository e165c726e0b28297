"""Random states that are nearly plans, and sites whose limits lie exactly where a state comes to."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from planner import eligibility
from planner.domain.machines import Circuit, Role, Spec
from planner.domain.measures import ROOM
from planner.domain.resources import RESOURCES
from planner.domain.site import Site
from planner.domain.sound import Listener
from planner.domain.state import Machine, State, role_today
from planner.ledger import climate, ledger
from planner.ledger.sums import heat_w
from planner.verify import verify_state
from planner.verify.plan.capacity import limit, load
from planner.verify.plan.limits import bill

ROUNDS = 4
ULPS = 12
"""Neighbouring floats that are tried for one at which a sum comes out on the far side of a whole number."""

EXACT = (1.0, 1.0, 1.0, 1.001, 0.999)
"""By what a limit that lies where a state comes to is multiplied."""


def nearly_a_plan(site: Site, rng: random.Random) -> State:
    """Draw a state: mostly where rules let things be, then mended where the judge complains, mostly."""
    state = State(tuple(_machines(site, rng)), _measures(site, rng), _cooling(site, rng))
    for _ in range(rng.randint(0, ROUNDS)):
        state = _mended(site, rng, state)
    return state


def neighbour(site: Site, rng: random.Random, state: State) -> State:
    """Change one thing about a state: a measure, a cooling option, a service's machine, a circuit."""
    way = rng.randrange(4)
    if way == 0 and site.measures:
        return replace(state, measures=state.measures ^ {rng.choice(site.measures).name})
    if way == 1 and site.cooling:
        season, option = rng.choice(site.seasons).name, rng.choice(site.cooling).name
        return replace(state, cooling={**state.cooling, season: state.cooling[season] ^ {option}})
    if way == 2 and len(state.machines) > 1:
        return _moved(site, rng, state)
    machines = list(state.machines)
    index = rng.randrange(len(machines))
    if machines[index].kind:
        circuit = rng.choice(site.supply.circuits).name
        machines[index] = replace(machines[index], circuit=circuit)
    return replace(state, machines=tuple(machines))


def _moved(site: Site, rng: random.Random, state: State) -> State:
    """Move a group of services to another machine of the state; one that is left empty goes."""
    group = rng.choice(eligibility.groups(site))
    target = rng.choice(state.machines)
    machines = []
    for machine in state.machines:
        kept = tuple(name for name in machine.services if name not in group)
        carried = (*kept, *group) if machine is target else kept
        stays = machine.box is not None and site.box[machine.box].stays is not None
        if carried or stays:
            machines.append(replace(machine, services=carried))
    return replace(state, machines=tuple(machines))


def _machines(site: Site, rng: random.Random) -> list[Machine]:
    found: list[Machine] = []
    for group in eligibility.groups(site):
        _place(site, rng, found, group)
    there = {machine.box for machine in found}
    for box in site.boxes:
        if box.stays is not None and box.name not in there and rng.random() < 0.97:
            found.append(Machine(box.name, role_today(site, box.name), box.circuit, (), box.name))
    rng.shuffle(found)
    return found


def _place(site: Site, rng: random.Random, found: list[Machine], group: tuple[str, ...]) -> None:
    """Put a group on a machine that is there or on a new one, mostly where it may be and has room."""
    options = list(_options(site, rng, found))
    rng.shuffle(options)
    if rng.random() < 0.95:
        able = [item for item in options if _may(site, item[1], group)]
        options = able or options
    index, machine = options[0]
    carried = replace(machine, services=(*machine.services, *group))
    if index is None:
        found.append(carried)
    else:
        found[index] = carried


def _options(site: Site, rng: random.Random, found: list[Machine]) -> Iterator[tuple[int | None, Machine]]:
    """Find the machines that are there, with their place, and new ones of each sort, without."""
    yield from enumerate(found)
    boxes = {machine.box for machine in found}
    for candidate in eligibility.candidates(site):
        if candidate.sort == "box":
            if candidate.ref not in boxes:
                circuit = site.box[candidate.ref].circuit
                yield None, Machine(candidate.ref, candidate.role, circuit, (), candidate.ref)
            continue
        count = sum(machine.kind == candidate.ref for machine in found)
        if count < site.kind[candidate.ref].max_units or rng.random() < 0.03:
            circuit = rng.choice(site.supply.circuits).name
            name = f"{candidate.ref}-{count + 1}"
            yield None, Machine(name, candidate.role, circuit, (), None, candidate.ref)


def _may(site: Site, machine: Machine, group: tuple[str, ...]) -> bool:
    sort = "box" if machine.box else "kind"
    ref = machine.box or machine.kind or ""
    candidate = next(
        item
        for item in eligibility.candidates(site)
        if item.ref == ref and item.sort == sort and item.role is machine.role
    )
    carried = replace(machine, services=(*machine.services, *group))
    if machine.services and machine.role in (Role.APPLIANCE, Role.TOWER):
        return False
    if eligibility.obstacle(site, group, candidate) is not None:
        return False
    return all(
        load(site, carried, resource, hour) <= limit(site, carried, resource)
        for resource in RESOURCES
        for hour in range(site.slots)
    )


def _measures(site: Site, rng: random.Random) -> frozenset[str]:
    share = rng.choice((0.0, 0.3, 0.6))
    return frozenset(item.name for item in site.measures if rng.random() < (share if item.allowed else 0.03))


def _cooling(site: Site, rng: random.Random) -> dict[str, frozenset[str]]:
    share = rng.choice((0.3, 0.7))
    return {
        season.name: frozenset(
            option.name
            for option in site.cooling
            if rng.random() < (share if season.name in option.removal else 0.01)
        )
        for season in site.seasons
    }


def _mended(site: Site, rng: random.Random, state: State) -> State:
    """Undo what the judge names first, where it is a measure or cooling; cool more where it is too warm."""
    for breach in verify_state(site, state):
        if rng.random() < 0.1:
            continue
        if breach.rule.startswith("measure_"):
            target = {item.name for item in site.measures if breach.where in (item.name, item.target)}
            gone = sorted(target & state.measures)[:1]
            state = replace(state, measures=state.measures - {*gone})
        elif breach.rule.startswith("cooling_"):
            cooling = {season: names - {breach.where} for season, names in state.cooling.items()}
            state = replace(state, cooling=cooling)
        elif breach.rule == "heat":
            season = breach.where if breach.where != ROOM else rng.choice(site.seasons).name
            able = {item.name for item in site.cooling if season in item.removal}
            state = replace(state, cooling={**state.cooling, season: frozenset(able)})
    return state


def on_its_limits(site: Site, state: State, rng: random.Random) -> Site:
    """Set limits of a site to just what a state comes to, or a thousandth more or less.

    ValueError where the state's room never settles.
    """
    if site.room.ua_w_k == 0.0:
        site = _just_chilled(site, state, rng)
    elif rng.random() < 0.6:
        site = _conducting(site, state, rng)
    book = ledger(site, state)
    warmest_c = _whole(max(entry.temperature_c for entry in book.seasons))
    if rng.random() < 0.5:
        budget = bill(site, state).money * rng.choice(EXACT)
        site = replace(site, policy=replace(site.policy, budget=budget))
    if rng.random() < 0.5:
        site = replace(site, room=replace(site.room, rack_u=book.rack_u + rng.choice((0, 0, 1, -1))))
    if rng.random() < 0.5:
        circuits = tuple(_circuit(item, book.circuits_w[item.name], rng) for item in site.supply.circuits)
        site = replace(site, supply=replace(site.supply, circuits=circuits))
    if rng.random() < 0.6 and warmest_c > 0.0:
        limit_c = warmest_c * rng.choice(EXACT)
        site = replace(site, policy=replace(site.policy, inlet_limit_c=limit_c))
    if rng.random() < 0.6:
        site = _stepped(site, rng, _whole(rng.choice(book.seasons).temperature_c))
    if rng.random() < 0.5:
        site = _filled(site, state, rng)
    book = ledger(site, state)
    listeners = tuple(_listener(item, book.levels_dba[item.name], rng) for item in site.listeners)
    return replace(site, listeners=listeners)


def _whole(value: float) -> float:
    """Round what misses a whole number by the last digits only: people write it whole."""
    return float(round(value)) if abs(value - round(value)) < 1e-6 else value


def _just_chilled(site: Site, state: State, rng: random.Random) -> Site:
    """Let the chillers that run in some season of a shut room take out just the heat there is."""
    season = rng.choice(site.seasons)
    running = [item for item in climate.running(site, season, state) if item.setpoint_c is not None]
    if not running:
        return site
    others_w = math.fsum(item.removal[season.name].capacity_w for item in running[1:])
    left_w = heat_w(site, state, season) * rng.choice(EXACT) - others_w
    removal = replace(running[0].removal[season.name], capacity_w=max(1.0, left_w))
    chiller = replace(running[0], removal={**running[0].removal, season.name: removal})
    cooling = tuple(chiller if item.name == chiller.name else item for item in site.cooling)
    return replace(site, cooling=cooling)


def _conducting(site: Site, state: State, rng: random.Random) -> Site:
    """Let walls conduct just so much that some season comes to a whole temperature, if walls can.

    Heat in = conductance x (whole - surroundings) + what streams of air and chillers take out at that. Where
    sums of floats miss it, they are to miss it on the warm side.
    """
    season = rng.choice(site.seasons)
    warm_c = float(round(ledger(site, state).season(season.name).temperature_c))
    bare = replace(site, room=replace(site.room, ua_w_k=0.0))
    taken_w = climate.room_capacity_w(bare, season, state.measures, warm_c)
    taken_w += sum(
        climate.option_capacity_w(site, season, option, warm_c)
        for option in climate.running(site, season, state)
    )
    if warm_c <= season.surroundings_c:
        return site
    ua_w_k = (heat_w(site, state, season) - taken_w) / (warm_c - season.surroundings_c)
    if ua_w_k <= 10.0:
        return site
    for _ in range(ULPS):
        tried = replace(site, room=replace(site.room, ua_w_k=ua_w_k))
        if ledger(tried, state).season(season.name).temperature_c > warm_c:
            break
        ua_w_k = math.nextafter(ua_w_k, 0.0)
    return tried


def _circuit(circuit: Circuit, load_w: float, rng: random.Random) -> Circuit:
    return replace(circuit, continuous_w=max(1.0, load_w * rng.choice(EXACT)))


def _listener(listener: Listener, level_dba: float, rng: random.Random) -> Listener:
    """Move what is heard so that the level is a whole one, and the target a step of it."""
    if not -100.0 < level_dba < 200.0 or rng.random() < 0.3:
        return listener
    heard = round(level_dba) + rng.choice((0.0, 0.0, 0.0, 0.001, -0.001))
    target = round(level_dba) - 0.5 * rng.choice((0, 0, 1, 3, 8))
    offset_db = listener.offset_db + heard - level_dba
    return replace(listener, offset_db=offset_db, target_dba=target, reading_dba=heard)


def _stepped(site: Site, rng: random.Random, inlet_c: float) -> Site:
    """Let the fans of some box speed up at just the temperature that a season comes to."""
    boxes = list(site.boxes)
    index = rng.randrange(len(boxes))
    spec = boxes[index].spec
    steps = ((inlet_c, 0.0), (inlet_c + 4.0, 4.5), (inlet_c + 9.0, 6.5))
    boxes[index] = replace(boxes[index], spec=replace(spec, sound=replace(spec.sound, inlet_steps=steps)))
    return replace(site, boxes=tuple(boxes))


def _filled(site: Site, state: State, rng: random.Random) -> Site:
    """Let some machine have just what its services take of a resource."""
    machine = rng.choice(state.machines)
    resource = rng.choice([name for name in RESOURCES if name not in ("vcpu", "cpu")])
    taken = max(load(site, machine, resource, hour) for hour in range(site.slots))
    bare = machine.role is Role.BARE
    kept = 1.0 if bare else 1.0 - site.policy.headroom.get(resource, 0.0)
    there = taken / kept * rng.choice(EXACT)
    if there <= 0.0:
        return site

    def filled(spec: Spec) -> Spec:
        figures: dict[str, Any] = {resource: there}
        return replace(spec, **figures)

    boxes = tuple(
        replace(item, spec=filled(item.spec)) if item.name == machine.box else item for item in site.boxes
    )
    kinds = tuple(
        replace(item, spec=filled(item.spec)) if item.name == machine.kind else item for item in site.kinds
    )
    return replace(site, boxes=boxes, kinds=kinds)
