"""What the schedule generation schemes build against every schedule of tiny works, and sums by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import islice, permutations

import pytest

from planner.domain import practice
from planner.moves.figures.evaluator import LimitEvaluator
from planner.moves.grid.evaluation import find_strains
from planner.moves.grid.slots import Slot
from planner.moves.grid.time_grid import TimeGrid, count_windows
from planner.moves.scheduling.priority_rules import PriorityRule, place_in, trade_rules
from planner.moves.scheduling.schedule_generation import (
    PartialSchedule,
    build_parallel,
    build_serial,
    is_whole,
)
from planner.moves.tasks.state_difference import Change
from planner.moves.tasks.work_packages import work_of
from tests.kit.sites import plain_site
from tests.moves.bounds.test_per_window import grids
from tests.moves.brute import build_assignment, schedules
from tests.moves.kit import onto_host, service, site_with


@pytest.mark.slow
def test_every_list_gives_a_schedule_and_some_list_the_fewest_windows() -> None:
    """Over all lists of a hundred works: none breaks a rule, and the best of all schedules is among them."""
    lists = solvable = 0
    for grid in grids():
        every = list(schedules(grid.work, grid.slots))
        built = [build_serial(grid, place_in(names)) for names in permutations(grid.names)]
        found = [at for at in built if at is not None]
        assert all(grid.batches(at) in every for at in found)
        assert bool(found) == bool(every)
        lists += len(found)
        if every:
            solvable += 1
            fewest = min(count_windows(build_assignment(batches)) for batches in every)
            assert min(map(count_windows, found)) == fewest
    assert lists > 1000
    assert solvable > 50


@pytest.mark.slow
def test_the_parallel_scheme_passes_no_limit_in_the_true_states() -> None:
    """By list and by the rules of the trade; what it holds keeps every rule, whole or not."""
    whole = 0
    for grid in islice(grids(), 60):
        every = list(schedules(grid.work, grid.slots))
        limits = LimitEvaluator(grid.work)
        for rule in (PriorityRule(grid.work, place_in(grid.names)), *trade_rules(grid.work)):
            at = build_parallel(grid, rule, limits)
            assert not find_strains(grid.work, grid.batches(at))
            if is_whole(grid, at):
                whole += 1
                assert grid.batches(at) in every
    assert whole > 60


def test_a_block_waits_for_hours_for_its_chain_and_for_money() -> None:
    """A host to bring in (1 h) and to prepare (4 h), in evenings of 4 h for two: 8 h of work, one by one."""
    site = plain_site()
    work = work_of(Change(site, onto_host(site)))
    first, then = "bring in: host-1", "prepare: host-1"
    assert work.block[first].hours + work.block[then].hours > 4.0
    slots = [Slot(4.0, 24.0 * day, 24.0 * day + 4.0, crew=2, month=day // 2) for day in range(4)]
    partial = PartialSchedule(TimeGrid(work, slots))
    assert partial.may_put(first, 0)
    assert not partial.may_put(then, 0)
    partial.put(first, 0)
    assert not partial.may_put(then, 0)
    assert partial.may_put(then, 1)
    price = work.prices[first]
    poor = [replace(slot, money=price - 1.0 if slot.month == 0 else price) for slot in slots]
    short = PartialSchedule(TimeGrid(work, poor))
    assert [short.may_put(first, index) for index in range(4)] == [False, False, True, True]


def test_directory_servers_move_a_day_apart() -> None:
    """Two of them, each in a window of its own, with windows less than a day from it left out."""
    role = next(iter(practice.DIRECTORY_ROLES))
    site = site_with(*(service(f"directory-{n}", roles=frozenset({role})) for n in range(2)))
    work = work_of(Change(site, onto_host(site)))
    one, other = next(rule.blocks for rule in work.nevers)
    starts_h = (0.0, 300.0, 312.0, 340.0)
    grid = TimeGrid(work, [Slot(10.0, start, start + 10.0) for start in starts_h])
    partial = PartialSchedule(grid)
    before = [name for name in grid.names if name in work.needed[one] | work.needed[other] - {one, other}]
    for name in before:
        partial.put(name, 0)
    ready = next(name for name in (one, other) if name in partial.ready)
    last = other if ready == one else one
    partial.put(ready, 1)
    assert partial.ready.get(last, math.inf) <= 3
    assert not partial.has_room(last, 1)
    assert not partial.has_room(last, 2)
    assert partial.has_room(last, 3)
