"""Mutates orders as ``stillroom moves --json`` writes them, and hands them to the judge as ``verify`` does.

``python -m tests.fuzz.orders --count 10000 --seed 0`` runs 10,000 mutants. An order is refused by the reader,
rejected by the judge or passed; whatever else comes is a crash. A task left out or done twice, or waves the
other way round, are never passed.
"""

from __future__ import annotations

import json
import random
import sys
from collections.abc import Callable
from copy import deepcopy
from dataclasses import dataclass, replace
from datetime import date, time
from functools import lru_cache
from typing import Any

from planner.domain.rules import Recurring, Windows
from planner.domain.site import Site
from planner.domain.state import State
from planner.moves.grid.evaluation import build_slots
from planner.moves.grid.time_grid import TimeGrid
from planner.moves.grid.windows import build_windows
from planner.moves.scheduling.initial_schedules import build_best
from planner.moves.scheduling.problem import build_problem
from planner.moves.scheduling.undated import build_undated
from planner.moves.tasks.progress import Mark, Progress
from planner.moves.tasks.state_difference import Change
from planner.moves.tasks.wave import Dates, build_order
from planner.moves.tasks.work_packages import work_of
from planner.moves.tracking.order_in_use import ArrangedOrder, OrderInUse
from planner.report.common.json_data import PlanFileError, document_data
from planner.report.moves.build import course_page
from planner.report.moves.page import MovesDocument
from planner.report.moves.reader import read_order
from planner.verify import verify_order
from tests.fuzz import campaign
from tests.kit.sites import random_site
from tests.moves.targets import easy_target

BASES = 6
WEEK = (Recurring(5, time(8), 12.0), Recurring(2, time(19), 5.0))
LEFT_OUT = (date(2027, 3, 13),)
Mutation = Callable[[random.Random, Any], None]
VALUES: tuple[Any, ...] = (
    None, True, False, 0, -1, 1, 2**63, 1e308, -1e308, float("inf"), float("nan"), 0.1, "", " ",
    "move: ", ": mail", "hold: alder", "move: mail", "bring in: quiet-host-1", "promote", "nothing", [], {},
    [[]], "2027-03-06T08:00:00+01:00", "2027-03-06T08:00:00", "2027-02-30T08:00:00Z",
    "0001-01-01T00:00:00+14:00",
    "9999-12-31T23:59:59-12:00", "\u0000", "\ud800", "x" * 5000, [None], [{}], {"task": "move: mail"},
    ["move: mail"],
)  # fmt: skip


@dataclass(frozen=True)
class Base:
    """A good order as data, with the site and the state that it is for."""

    site: Site
    state: State
    data: Any


@lru_cache(maxsize=1)
def bases() -> tuple[Base, ...]:
    """Make good orders of random sites, on dates and without, one in two with its first wave done."""
    found, seed = list[Base](), 0
    while len(found) < BASES:
        seed += 1
        site = replace(
            random_site(seed, boxes=3, services=5),
            windows=Windows("Europe/Vienna", WEEK, LEFT_OUT, date(2027, 3, 1)),
        )
        state = easy_target(site, seed)
        base = None if state is None else _base(site, state, seed)
        if base is not None and verify_order(site, base.state, read_order(site, base.data)) == ():
            found.append(base)
    return tuple(found)


def _base(site: Site, state: State, seed: int) -> Base | None:
    work = work_of(Change(site, state))
    days = build_windows(site.windows, 60)
    grid = TimeGrid(work, build_slots(days, 1))
    at = build_best(build_problem(grid))
    if not at or work.untied.outages:
        return None
    dates = [Dates(day.start, day.end) for day in days]
    order = build_order(work, grid.batches(at), dates) if seed % 2 else build_undated(work, hours=12.0)
    progress = Progress()
    if seed % 4 > 1:
        first = order.waves[0]
        progress = progress.marked(first, Mark.DONE, first.end or days[0].end)
        order = replace(order, waves=order.waves[1:])
    course = OrderInUse(site, state, progress)
    page = course_page(course, "proven", ArrangedOrder(order, order))
    return Base(site, state, json.loads(json.dumps(document_data(MovesDocument(page=page)))))


def _containers(data: Any) -> list[Any]:
    found = [data] if isinstance(data, dict | list) and data else []
    for value in (data.values() if isinstance(data, dict) else data) if found else ():
        found += _containers(value)
    return found


def _place(rng: random.Random, data: Any) -> tuple[Any, Any]:
    page = data["page"]
    part = page[rng.choice(("waves", "waves", "done", "cycles", "given_up"))] if rng.random() < 0.8 else data
    box = rng.choice(_containers(part))
    return box, rng.choice([*box]) if isinstance(box, dict) else rng.randrange(len(box))


def _value(rng: random.Random, data: Any) -> None:
    box, key = _place(rng, data)
    box[key] = deepcopy(rng.choice(VALUES))


def _gone(rng: random.Random, data: Any) -> None:
    box, key = _place(rng, data)
    del box[key]


def _from_elsewhere(rng: random.Random, data: Any) -> None:
    (box, key), (other, place) = _place(rng, data), _place(rng, data)
    box[key] = deepcopy(other[place])


def _number(rng: random.Random, data: Any) -> None:
    boxes = [box for box in _containers(data) if isinstance(box, dict)]
    places = [(box, key) for box in boxes for key, value in box.items() if type(value) in (int, float)]
    box, key = rng.choice(places)
    box[key] = rng.choice((-box[key], box[key] + 1, box[key] * 1e6, 0, round(box[key])))


def _moment(rng: random.Random, data: Any) -> None:
    for wave in rng.sample(data["page"]["waves"], 1):
        start = f"2027-{rng.randrange(1, 13):02}-{rng.randrange(1, 29):02}T{rng.randrange(24):02}:30:00+01:00"
        wave[rng.choice(("start", "end"))] = start


def _tasks_moved(rng: random.Random, data: Any) -> None:
    one, other = rng.choice(data["page"]["waves"]), rng.choice(data["page"]["waves"])
    if one["tasks"]:
        task = one["tasks"].pop(rng.randrange(len(one["tasks"])))
        other["tasks"].insert(rng.randrange(len(other["tasks"]) + 1), task)


def _shuffled(rng: random.Random, data: Any) -> None:
    rng.shuffle(rng.choice(data["page"]["waves"])["tasks"])


def _task_gone(rng: random.Random, data: Any) -> None:
    wave = rng.choice(data["page"]["waves"])
    del wave["tasks"][rng.randrange(len(wave["tasks"]))]


def _task_twice(rng: random.Random, data: Any) -> None:
    task = deepcopy(rng.choice(rng.choice(data["page"]["waves"])["tasks"]))
    tasks = rng.choice(data["page"]["waves"])["tasks"]
    tasks.insert(rng.randrange(len(tasks) + 1), task)


MUTATIONS: tuple[Mutation, ...] = (
    _value, _value, _gone, _from_elsewhere, _number, _moment, _tasks_moved, _shuffled,
)  # fmt: skip
NEVER: tuple[Mutation, ...] = (_task_gone, _task_twice)
"""What no order survives, as long as nothing else is changed."""


def mutant(seed: int) -> tuple[Base, Any, bool]:
    """Make the mutant of a seed, and say whether it must not be passed."""
    rng = random.Random(seed)
    base = rng.choice(bases())
    data = deepcopy(base.data)
    if rng.random() < 0.2:
        rng.choice(NEVER)(rng, data)
        return base, data, True
    for _ in range(rng.choice((1, 1, 1, 2, 4))):
        try:
            rng.choice(MUTATIONS)(rng, data)
        except (AttributeError, IndexError, KeyError, TypeError, ValueError, OverflowError):
            # An earlier mutation has taken away what this one changes.
            continue
    return base, data, False


def run_one(seed: int) -> str:
    """Read and judge the mutant of a seed as ``verify --order`` does."""
    base, data, is_broken = mutant(seed)
    try:
        order = read_order(base.site, data)
    except PlanFileError:
        return "refused"
    breaches = verify_order(base.site, base.state, order)
    assert all(isinstance(breach.message, str) and breach.message for breach in breaches)
    assert breaches or not is_broken, "an order that lacks a task, or has one twice, was passed"
    return "rejected" if breaches else "passed"


if __name__ == "__main__":
    asked = campaign.arguments("Fuzz the judging of orders.")
    if asked.show:
        print(json.dumps(mutant(asked.seed)[1], indent=1))
    sys.exit(campaign.main(run_one, asked))
