"""The bound by shares of blocks against every schedule of tiny works, and lists that are moved."""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import date
from datetime import time as clock
from pathlib import Path

import numpy as np
import pytest

from planner.domain.rules import Recurring, Windows
from planner.inventory import load
from planner.moves.bounds.array_lp import ArrayLP
from planner.moves.bounds.packing_duals import PackingDuals
from planner.moves.bounds.per_window import PerWindowBounds, compute_mean_bound
from planner.moves.bounds.time_indexed_lp import TimeIndexedLP, build_priced_figures
from planner.moves.bounds.time_windows import compute_time_windows
from planner.moves.figures.evaluator import Figure
from planner.moves.figures.room_figures import Figures
from planner.moves.grid.evaluation import build_slots
from planner.moves.grid.time_grid import TimeGrid, count_windows
from planner.moves.grid.windows import build_windows
from planner.moves.scheduling.initial_schedules import find_initial_schedules
from planner.moves.scheduling.priority_search import PrioritySearch
from planner.moves.scheduling.problem import build_problem
from planner.moves.tasks.state_difference import Change
from planner.moves.tasks.work_packages import work_of
from planner.placement.result import Options
from planner.placement.solve import solve
from planner.solver import Limits
from tests.moves.bounds.test_per_window import grids
from tests.moves.brute import build_assignment, schedules
from tests.moves.kit import onto_host, service, site_with

INVENTORIES = Path(__file__).resolve().parents[3] / "inventories"


@pytest.mark.slow
def test_no_bound_by_shares_is_over_the_best_of_all_schedules() -> None:
    """On a hundred random works, for level and watts, with the level held at each that a schedule has."""
    counted = held_counted = 0
    for grid in grids():
        figures = Figures(grid.work.change)
        loud, watts = Figure(grid.work, figures.loudness()), Figure(grid.work, figures.mean_power())
        every = [build_assignment(batches) for batches in schedules(grid.work, grid.slots)]
        if not every:
            continue
        prices = PackingDuals(grid)
        within = compute_time_windows(prices, grid.count)
        levels = {id(at): loud.mean(at, grid.spans_h) for at in every}
        for figure in (loud, watts):
            best = min(figure.mean(at, grid.spans_h) for at in every)
            bound = TimeIndexedLP(prices, within, figure).solve(10.0).bound
            assert bound <= best + 1e-6 * max(1.0, abs(best))
            counted += 1
        for most in sorted(set(levels.values()))[:3]:
            best = min(watts.mean(at, grid.spans_h) for at in every if levels[id(at)] <= most)
            polys, shares = (figures.mean_power(), figures.loudness()), (0.2, 0.6, 1.0)
            for figure in build_priced_figures(grid.work, *polys, most, best, shares):
                bound = TimeIndexedLP(prices, within, figure).solve(10.0).bound
                assert bound <= best + 1e-6 * max(1.0, abs(best))
                held_counted += 1
    assert counted > 100
    assert held_counted > 100


def test_shares_see_more_than_the_floors_of_single_windows() -> None:
    """Work done early keeps other work back; a floor of one window does not know what another one took."""
    site = load(INVENTORIES / "small-office.yaml").site
    plan = solve(site, Options(time_s=20.0)).plan
    assert plan is not None
    work = work_of(Change(site, plan.state))
    grid = TimeGrid(work, build_slots(build_windows(site.windows, 18, date(2027, 3, 1)), site.windows.crew))
    prices = PackingDuals(grid)
    within = compute_time_windows(prices, 16)
    loud = Figure(work, Figures(work.change).loudness())
    floor = compute_mean_bound(
        PerWindowBounds(prices, within, loud).solve_all(time.monotonic()), grid.spans_h
    )
    assert TimeIndexedLP(prices, within, loud).solve(20.0).bound > floor


def test_what_does_not_fit_beside_it_is_done_before() -> None:
    """A host brought in (1 h) and prepared (4 h): not in one evening of 4 h, though each fits by itself."""
    site = site_with(*(service(f"page-{number}") for number in range(4)))
    evenings = Windows("UTC", (Recurring(2, clock(18), 4.0),), (), date(2027, 3, 1), 2)
    work = work_of(Change(replace(site, windows=evenings), onto_host(site)))
    grid = TimeGrid(work, build_slots(build_windows(evenings, 8), 2))
    (before, after) = next(pair for pair in work.lags if pair[1].startswith("prepare"))
    hours = grid.blocks[before].hours, grid.blocks[after].hours
    assert max(hours) <= 4.0 < sum(hours)
    assert grid.last_before(before, after, work.lags[before, after]) == list(range(-1, 7))


@pytest.mark.parametrize("seed", range(20))
def test_any_duals_bound_the_optimum_and_the_solvers_reach_it(seed: int) -> None:
    """Weak duality on random programmes; the optimum is that of tight duals (simplex finds the same)."""
    rng = np.random.default_rng(seed)
    count, rows = 12, 8
    arrays = ArrayLP(rng.normal(size=count), np.zeros(count), np.ones(count), 3.0)
    places = np.array([rng.choice(count, 4, replace=False) for _ in range(rows)])
    factors, most = rng.random((rows, 4)), rng.random(rows)
    arrays.at_most(places, factors, most)
    found = arrays.solve(Limits(time_s=10.0))
    dense = np.zeros((rows, count))
    np.put_along_axis(dense, places, factors, axis=1)
    assert (dense @ found.values <= most + 1e-3).all()
    value = float(arrays.cost @ found.values) + 3.0
    assert found.bound == pytest.approx(value, abs=1e-2)
    for _ in range(50):
        assert arrays.compute_bound(-rng.exponential(size=len(arrays.most[0]))) <= value + 1e-2


@pytest.mark.slow
def test_shifts_never_make_it_worse_and_keep_every_limit() -> None:
    """From the quick starts of an example: the same windows, all blocks, all limits, no more noise."""
    site = load(INVENTORIES / "small-office.yaml").site
    plan = solve(site, Options(time_s=20.0)).plan
    assert plan is not None
    work = work_of(Change(site, plan.state))
    slots = build_slots(build_windows(site.windows, 60, date(2027, 3, 1)), site.windows.crew)
    whole = build_problem(TimeGrid(work, slots))
    begun = find_initial_schedules(whole, 0.5)
    problem = whole.on(TimeGrid(work, slots[:20]))
    gained = 0
    for start in begun.found:
        before = problem.mean(problem.level, start)
        at = PrioritySearch(problem, problem.level, count_windows(start), start, lists=1500).run()
        assert at.keys() == start.keys()
        assert count_windows(at) <= count_windows(start)
        assert problem.keeps_limits(at)
        assert problem.mean(problem.level, at) <= before
        gained += problem.mean(problem.level, at) < before - 1e-9
    assert gained
