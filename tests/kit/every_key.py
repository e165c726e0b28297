"""Random sites in which every key of the schema that can matter to a plan is in use, now and then.

They are those of `tests.kit.sites` with more: readings, confidences, spare hosts, recirculation, load of 24
hours, larger groups and quorums, measures on coolers, coolers that run today in some seasons only. The same
seed gives the same site.
"""

from __future__ import annotations

import random
from dataclasses import replace

from planner.domain.air import Cooling, Removal
from planner.domain.measures import Measure, RoomEffect, SourceEffect
from planner.domain.resources import Demand
from planner.domain.rules import Apart, Quorum, Together
from planner.domain.services import Service
from planner.domain.site import Site
from planner.domain.sound import Listener, Surface
from tests.kit.gear import INLET_STEPS, sound
from tests.kit.sites import random_site

HOURS = 24


def full_site(seed: int) -> Site:
    """Build the random site of a seed."""
    rng = random.Random(f"full {seed}")
    site = random_site(
        seed,
        boxes=rng.choice((2, 3, 4)),
        services=rng.choice((3, 4, 5, 6)),
        kinds=rng.choice((1, 2, 3, 4)),
        gear=rng.choice((0, 1, 2, 3)),
        measures=rng.choice((0, 2, 4, 6)),
        cooling=rng.choice((0, 1, 2, 3)),
        room_measures=rng.choice((0, 1, 2, 3)),
        seasons=rng.choice((1, 2, 3)),
        max_units=rng.choice((1, 2, 3)),
    )
    if rng.random() < 0.05:
        site = replace(site, kinds=(replace(site.kinds[0], max_units=0), *site.kinds[1:]))
    site = replace(site, measures=(*site.measures, *_more_measures(rng, site)))
    site = replace(
        site,
        services=_services(rng, site),
        cooling=tuple(_cooling(rng, item) for item in site.cooling),
        listeners=tuple(_listener(rng, item) for item in site.listeners),
        seasons=tuple(replace(item, dew_point_c=rng.choice((None, 11.0))) for item in site.seasons),
    )
    site = _policy(rng, _rules(rng, _hourly(rng, site)))
    site = _eased(rng, site) if rng.random() < 0.7 else site
    return _shut(rng, site) if rng.random() < 0.12 else site


def _shut(rng: random.Random, site: Site) -> Site:
    """Shut the room on most sides: no gaps, and walls that conduct little or nothing."""
    return replace(site, room=replace(site.room, ua_w_k=rng.choice((0.0, 0.0, 5.0)), leak_m3_s=0.0))


def _eased(rng: random.Random, site: Site) -> Site:
    """Take away some of what makes most states no plan, so that many are one."""
    few = 0.2
    services = tuple(
        replace(
            item,
            physical=item.physical if rng.random() < few else None,
            needs=item.needs if rng.random() < few else frozenset(),
            stay_on=item.stay_on if rng.random() < few else None,
        )
        for item in site.services
    )
    circuits = tuple(replace(item, continuous_w=item.continuous_w + 1500.0) for item in site.supply.circuits)
    room = replace(site.room, ua_w_k=site.room.ua_w_k + rng.choice((50.0, 200.0)))
    return replace(
        site,
        services=services,
        supply=replace(site.supply, circuits=circuits),
        room=replace(room, rack_u=None if rng.random() < 0.7 else site.room.rack_u),
        policy=replace(site.policy, budget=None if rng.random() < 0.7 else site.policy.budget),
        apart=site.apart if rng.random() < 0.4 else (),
        quorums=site.quorums if rng.random() < 0.4 else (),
        together=site.together[:1],
    )


def _services(rng: random.Random, site: Site) -> tuple[Service, ...]:
    zones = rng.choice((("default",), ("default", "dmz"), ("default", "dmz", "guests")))
    return tuple(replace(item, zone=rng.choice(zones)) for item in site.services)


def _hourly(rng: random.Random, site: Site) -> Site:
    """Spread the demands of some services over 24 hours, in whole tenths of what they are."""
    if rng.random() < 0.7 or site.slots != 1:
        return site

    def hours(values: tuple[float, ...]) -> tuple[float, ...]:
        return tuple(values[0] * rng.randint(1, 10) / 10.0 for _ in range(HOURS))

    def spread(demand: Demand) -> Demand:
        return replace(demand, cpu=hours(demand.cpu), iops=hours(demand.iops))

    services = tuple(
        replace(item, demand=spread(item.demand)) if rng.random() < 0.6 else item for item in site.services
    )
    return replace(site, services=services, slots=HOURS)


def _cooling(rng: random.Random, option: Cooling) -> Cooling:
    removal = {
        season: replace(way, recirculation=rng.choice((1.0, 0.5, 0.3))) if way.flow_m3_s else way
        for season, way in option.removal.items()
    }
    if rng.random() < 0.1:
        removal = {season: Removal(rng.choice((500.0, 1500.0)), 0.05, 16.0) for season in removal}
    chills = any(way.capacity_w for way in removal.values())
    return replace(
        option,
        removal=removal,
        duty=rng.choice((option.duty, 0.3)),
        heats_room=rng.choice((option.heats_room, 0.0, 0.25, 1.0)),
        setpoint_c=rng.choice((option.setpoint_c or 24.0, 20.0, 27.0)) if chills else None,
        runs_today=frozenset(name for name in removal if rng.random() < 0.4),
    )


def _listener(rng: random.Random, listener: Listener) -> Listener:
    offset_db = rng.choice((listener.offset_db, 0.0, 3.25, -2.5))
    return replace(
        listener,
        offset_db=offset_db,
        reading_dba=rng.choice((None, 55.0)) if offset_db else None,
        confidence=rng.choice((0.8, 0.95)) if listener.target_dba and rng.random() < 0.15 else None,
        background_dba=rng.choice((None, 35.0)),
        use=rng.choice((None, "open-plan office")),
    )


def _more_measures(rng: random.Random, site: Site) -> list[Measure]:
    """Build measures on coolers and boxes that change watts and sound, and one that lets air in."""
    found = []
    for option in site.cooling:
        if rng.random() < 0.5:
            effect = rng.choice(
                (
                    SourceEffect((4.0,) * 8, power_delta_w=rng.choice((-10.0, 15.0))),
                    SourceEffect(sound=sound(rng, 40.0, "large"), power_delta_w=-25.0),
                )
            )
            found.append(Measure(f"tuned-{option.name}", option.name, effect, price=40.0, hours=1.0))
    if rng.random() < 0.4:
        box = rng.choice(site.boxes)
        quiet = replace(sound(rng, 45.0, "small"), inlet_steps=INLET_STEPS)
        effect = SourceEffect((2.0,) * 8, quiet, power_delta_w=20.0)
        found.append(Measure(f"rebuilt-{box.name}", box.name, effect, price=75.0))
    if rng.random() < 0.3:
        name = rng.choice([item.name for item in site.boxes] + [item.name for item in site.gear])
        found.append(Measure(f"starved-{name}", name, SourceEffect(power_delta_w=-500.0)))
    if rng.random() < 0.3:
        panel = Surface("screens", 3.0, (0.5,) * 8)
        airy = RoomEffect((panel,), leak_delta_m3_s=0.02, ua_delta_w_k=10.0)
        found.append(Measure("airy-screens", "room", room_effect=airy, price=30.0, hours=2.0))
    return found


def _rules(rng: random.Random, site: Site) -> Site:
    """Add further groups, sets kept apart and quorums, which may well contradict each other."""
    names = [service.name for service in site.services]

    def some(most: int) -> frozenset[str]:
        return frozenset(rng.sample(names, min(most, len(names))))

    together = [Together(some(rng.choice((2, 3))), "one licence")] if rng.random() < 0.25 else []
    apart = [Apart(some(rng.choice((2, 3))), "twins") for _ in range(2) if rng.random() < 0.25]
    quorums = [Quorum(some(3), rng.choice((1, 2)), "a quorum")] if rng.random() < 0.2 else []
    return replace(
        site,
        together=(*site.together, *together),
        apart=(*site.apart, *apart),
        quorums=(*site.quorums, *quorums),
    )


def _policy(rng: random.Random, site: Site) -> Site:
    policy = replace(
        site.policy,
        spare_hosts=rng.choice((1, 1, 2)) if rng.random() < 0.12 else 0,
        monthly_budget=rng.choice((None, 800.0)),
        headroom={**site.policy.headroom, **({"iops": 0.3, "network_mbps": 0.1} if _heads(rng) else {})},
        inlet_limit_c=rng.choice((site.policy.inlet_limit_c, 32.0, 36.0)),
        budget=rng.choice((site.policy.budget, None)),
        equipment_class=rng.choice(("A1", "A3")),
    )
    return replace(site, policy=policy)


def _heads(rng: random.Random) -> bool:
    """Toss a coin."""
    return rng.random() < 0.5
