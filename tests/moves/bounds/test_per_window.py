"""Bounds of schedules against every schedule of tiny works, and prices against arithmetic and trying all."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, time
from itertools import combinations

import numpy as np
import pytest

from planner.domain.rules import Recurring, Windows
from planner.moves.bounds.packing_duals import PackingDuals, solve_knapsack
from planner.moves.bounds.per_window import PerWindowBounds, compute_mean_bound
from planner.moves.bounds.time_windows import compute_least_windows, compute_time_windows
from planner.moves.figures.evaluator import Figure
from planner.moves.figures.room_figures import Figures
from planner.moves.grid.evaluation import build_slots
from planner.moves.grid.slots import Slot
from planner.moves.grid.time_grid import TimeGrid, count_windows
from planner.moves.grid.windows import build_windows
from planner.moves.tasks.state_difference import Change
from planner.moves.tasks.work_packages import work_of
from tests.kit.sites import plain_site, tiny_site
from tests.moves.brute import build_assignment, schedules
from tests.moves.kit import onto_host, service, site_with
from tests.moves.targets import target

CALENDARS = (
    (Recurring(5, time(8), 10.0),),
    (Recurring(5, time(8), 6.0), Recurring(2, time(19), 4.0)),
    (Recurring(5, time(8), 8.0), Recurring(0, time(19), 3.0)),
)
SITES = 100
MOST_BLOCKS = 5
SLOTS = 5


def grids() -> Iterator[TimeGrid]:
    """List works of two to five blocks on three calendars in turn."""
    found = 0
    for seed in range(2000):
        site = tiny_site(seed)
        work = work_of(Change(site, target(site, seed)))
        if not 2 <= len(work.blocks) <= MOST_BLOCKS:
            continue
        rules = Windows("Europe/Vienna", CALENDARS[found % len(CALENDARS)], (), date(2027, 3, 1))
        yield TimeGrid(work, build_slots(build_windows(rules, SLOTS), 1))
        found += 1
        if found == SITES:
            return


@pytest.mark.slow
def test_no_bound_is_over_the_best_of_all_schedules() -> None:
    """On a hundred random works neither the windows nor level or watts over time are bounded too high."""
    count = solvable = reached = 0
    for grid in grids():
        count += 1
        figures = Figures(grid.work.change)
        every = [build_assignment(batches) for batches in schedules(grid.work, grid.slots)]
        prices = PackingDuals(grid)
        least = compute_least_windows(prices, grid.count)
        fewest = min(map(count_windows, every), default=grid.count + 1)
        assert least <= fewest
        for poly in (figures.loudness(), figures.mean_power()):
            figure = Figure(grid.work, poly)
            for until in range(max(1, min(least, grid.count)), grid.count + 1):
                best = min(
                    (figure.mean(at, grid.spans_h) for at in every if count_windows(at) <= until),
                    default=None,
                )
                within = compute_time_windows(prices, until)
                if best is None:
                    continue
                solvable += 1
                assert not within.is_empty
                bound = compute_mean_bound(PerWindowBounds(prices, within, figure).solve_all(), grid.spans_h)
                assert bound <= best + 1e-6 * max(1.0, abs(best))
                reached += bound >= best - 1e-3 * max(1.0, abs(best))
    assert count == SITES
    assert solvable > SITES
    assert reached > solvable // 3


@pytest.mark.slow
def test_every_schedule_keeps_within_the_reach_of_its_blocks() -> None:
    """No window that is left out for a block holds it in any schedule."""
    for grid in grids():
        prices = PackingDuals(grid)
        prices.solve_cover(grid.names, grid.count - 1) if _all_fit(grid) else None
        within = compute_time_windows(prices, grid.count)
        for batches in schedules(grid.work, grid.slots):
            for name, index in build_assignment(batches).items():
                assert within.earliest[name] <= index <= within.latest[name]


def _all_fit(grid: TimeGrid) -> bool:
    longest = max(slot.hours for slot in grid.slots)
    return all(block.hours <= longest for block in grid.work.blocks)


@pytest.mark.parametrize("seed", range(20))
def test_a_window_is_filled_as_well_as_by_trying_every_set(seed: int) -> None:
    """The most value of blocks that fit; hours in whole twentieths, so that rounding plays no part."""
    rng = random.Random(seed)
    hours = np.array([rng.randrange(1, 100) * 0.05 for _ in range(10)])
    values = np.array([rng.choice((0.0, rng.random())) for _ in range(10)])
    room = rng.randrange(20, 160) * 0.05
    sets = [list(some) for size in range(11) for some in combinations(range(10), size)]
    fitting = [some for some in sets if hours[some].sum() <= room + 1e-9 and all(hours[some] <= 4.0 + 1e-9)]
    worth, chosen = solve_knapsack(values, hours, room, 4.0, cell_h=0.05)
    assert worth == pytest.approx(max(values[some].sum() for some in fitting))
    assert hours[chosen].sum() <= room + 1e-9
    assert values[chosen].sum() == pytest.approx(worth)


def test_two_long_moves_do_not_share_a_short_evening() -> None:
    """Moves of 1.77 h: one an evening of 3 h, three a Saturday of 6 h; hours alone would let 1.7 and 3.4."""
    site = site_with(*(service(f"page-{number}") for number in range(8)))
    evenings = Windows("UTC", (Recurring(5, time(8), 6.0), Recurring(2, time(19), 3.0)), (), date(2027, 3, 1))
    work = work_of(Change(replace(site, windows=evenings), onto_host(site)))
    grid = TimeGrid(work, build_slots(build_windows(evenings, 8), 1))
    prices = PackingDuals(grid)
    moves = [block.name for block in work.blocks if block.moves]
    assert {round(grid.blocks[name].hours, 2) for name in moves} == {1.77}
    assert prices.solve_cover(moves, 3) == pytest.approx(8.0 / (2 * 1 + 2 * 3))
    assert prices.solve_cover(moves, 2) == pytest.approx(8.0 / (2 * 1 + 1 * 3))


def test_nothing_is_learned_of_windows_too_short_for_a_block() -> None:
    """Setting up the quiet host takes 4 h: the first window has 1 h, and only the second has 12 h."""
    site = plain_site()
    work = work_of(Change(site, onto_host(site)))
    prices = PackingDuals(TimeGrid(work, [Slot(1.0, 0.0, 1.0), Slot(12.0, 24.0, 36.0)]))
    names = ["bring in: host-1", "prepare: host-1"]
    assert prices.solve_cover(names, 0) == math.inf
    assert len(prices.known) == 1
    assert prices.solve_cover(names, 1) <= 1.0
    assert len(prices.known) == 2
