"""Random seasons, cooling and listeners for the site generator."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace

from planner.domain.air import Cooling, Removal, Season
from planner.domain.measures import Measure
from planner.domain.sound import Element, Listener, Partition
from tests.kit.gear import sound

COOLING = ("split-unit", "door-fan", "portable-chiller", "duct-fan")


def seasons(rng: random.Random, count: int) -> tuple[Season, ...]:
    """List up to three seasons; the hottest days never bind the quiet, and sometimes stand in for summer."""
    winter = Season("winter", float(rng.choice((18, 20))), 4760.0)
    summer = Season("summer", float(rng.choice((22, 24, 26))), 3900.0)
    hottest = Season("hottest-days", float(rng.choice((26, 28))), 100.0, quiet=False)
    if count == 2 and rng.random() < 0.25:
        return (winter, hottest)
    return (winter, summer, hottest)[:count]


def cooling(
    rng: random.Random, count: int, when: Sequence[Season], circuits: Sequence[str]
) -> tuple[Cooling, ...]:
    """List the first cooling options of the list: chillers with a set point and air paths, in turn."""
    return tuple(
        _chiller(rng, name, when, rng.choice(circuits))
        if index % 2 == 0
        else _path(rng, name, when, rng.choice(circuits))
        for index, name in enumerate(COOLING[:count])
    )


def _chiller(rng: random.Random, name: str, when: Sequence[Season], circuit: str) -> Cooling:
    owned = name == "split-unit"
    capacity_w = float(rng.choice((1500, 2500, 3500)))
    return Cooling(
        name=name,
        owned=owned,
        power_w=float(rng.choice((500, 900))),
        sound=sound(rng, rng.choice((55.0, 62.0, 68.0)), "large"),
        circuit=circuit,
        removal={season.name: Removal(capacity_w=capacity_w) for season in when},
        runs_today=frozenset(season.name for season in when) if owned else frozenset(),
        duty=rng.choice((0.5, 1.0)),
        heats_room=0.0 if owned else rng.choice((0.0, 0.5)),
        setpoint_c=rng.choice((None, 22.0, 24.0)),
        price=0.0 if owned else 600.0,
        hours=0.0 if owned else 2.0,
    )


def _path(rng: random.Random, name: str, when: Sequence[Season], circuit: str) -> Cooling:
    flow_m3_s = rng.choice((0.05, 0.1, 0.2))
    warmer_k = rng.choice((0.0, 1.0))
    return Cooling(
        name=name,
        owned=False,
        power_w=float(rng.choice((10, 30))),
        sound=sound(rng, rng.choice((35.0, 42.0)), "large"),
        circuit=circuit,
        removal={
            season.name: Removal(flow_m3_s=flow_m3_s, supply_c=season.surroundings_c + warmer_k)
            for season in when
            if season.quiet or rng.random() < 0.5
        },
        heats_room=1.0,
        price=float(rng.choice((150, 300))),
        hours=4.0,
    )


def tied(rng: random.Random, options: Sequence[Cooling], measures: Sequence[Measure]) -> tuple[Cooling, ...]:
    """List the options, some of them needing or shutting out a measure or the option before."""
    found: list[Cooling] = []
    for option in options:
        partners = [item.name for item in measures if item.target != option.name]
        partners += [item.name for item in found]
        dice = rng.random()
        tie = frozenset({rng.choice(partners)}) if partners else frozenset()
        if not option.owned and dice < 0.2:
            option = replace(option, requires=tie)
        elif dice > 0.8:
            option = replace(option, excludes=tie)
        found.append(option)
    return tuple(found)


def listeners(rng: random.Random, count: int | None) -> tuple[Listener, ...]:
    """List one or two listeners: a desk inside, a reception behind a wall with a door; or one of them."""
    desk = Listener("desk", _target(rng, (44.0, 48.0, 52.0, 56.0)), distance_m=rng.choice((1.5, 2.0)))
    partition = Partition(
        elements=(
            Element("wall", 8.0, (16.0, 22.0, 27.0, 43.0, 47.0, 37.0, 46.0, 46.0)),
            Element("door", 2.0, (8.0, 14.0, 19.0, 23.0, 18.0, 17.0, 21.0, 21.0)),
        ),
        absorption_m2=(8.0, 8.0, 10.0, 12.0, 12.0, 12.0, 12.0, 12.0),
    )
    reception = Listener(
        "reception",
        _target(rng, (26.0, 30.0, 34.0)),
        partition=partition,
        offset_db=rng.choice((0.0, -1.5)),
    )
    both = [desk, reception]
    rng.shuffle(both)
    return tuple(both[: count or rng.choice((1, 2))])


def _target(rng: random.Random, choices: Sequence[float]) -> float | None:
    return rng.choice(choices) if rng.random() < 0.75 else None
