"""Orders built without a solver: whole, judged, and not louder than the plain one in as many windows."""

from __future__ import annotations

from dataclasses import replace

import networkx as nx
import pytest

from planner.domain.site import Site
from planner.domain.state import State
from planner.moves.figures.evaluator import Figure
from planner.moves.figures.room_figures import Figures
from planner.moves.grid.evaluation import build_slots, evaluate, find_strains
from planner.moves.grid.slots import Slot
from planner.moves.grid.time_grid import TimeGrid, count_windows
from planner.moves.grid.windows import build_windows
from planner.moves.scheduling.initial_schedules import build_best
from planner.moves.scheduling.priority_rules import build_plain_list, build_quiet_list
from planner.moves.scheduling.problem import build_problem
from planner.moves.scheduling.undated import build_undated, build_weekly_slots, make_quieter
from planner.moves.tasks.state_difference import Change
from planner.moves.tasks.walk import walk
from planner.moves.tasks.work_packages import Work, work_of
from tests.kit.sites import plain_site, random_site
from tests.moves.brute import build_assignment, plain_batches
from tests.moves.kit import onto_host
from tests.moves.scheduling.test_schedule import LONG
from tests.moves.targets import good_target

SEEDS = range(24)


def cases() -> list[tuple[Site, State, Work]]:
    """List random sites with a target and some work to do, and the plain one."""
    found = [(plain_site(), onto_host(plain_site()))]
    for seed in SEEDS:
        site = random_site(seed)
        state = good_target(site)
        found += [] if state is None else [(site, state)]
    works = [(site, state, work_of(Change(site, state))) for site, state in found]
    return [case for case in works if case[2].blocks]


@pytest.mark.slow
def test_both_lists_hold_every_block_once_and_in_order() -> None:
    """Nothing stands before what it waits for."""
    for _, _, work in cases():
        loud = Figure(work, Figures(work.change).loudness())
        for names in (build_plain_list(work), build_quiet_list(work, loud)):
            assert sorted(names) == sorted(work.block)
            place = {name: number for number, name in enumerate(names)}
            assert all(place[one] < place[other] for one, other in nx.DiGraph(work.graph).edges)


@pytest.mark.slow
def test_the_best_built_is_not_worse_than_the_plain_order() -> None:
    """Fewer windows, or as many and not louder over time; and the judge lets it pass."""
    compared = 0
    for site, state, work in cases():
        slots = build_weekly_slots(work, 8.0)
        grid = TimeGrid(work, slots)
        at = build_best(build_problem(grid))
        plain = plain_batches(work, slots)
        if at is None or plain is None or find_strains(work, plain):
            continue
        compared += 1
        best = grid.batches(at)
        last = max(count_windows(at), len(plain))
        ours, other = evaluate(work, slots[:last], best), evaluate(work, slots[:last], plain)
        assert (ours.windows, ours.loudness) <= (other.windows, other.loudness * (1.0 + 1e-9))
        assert walk(site, state, build_undated(work, hours=8.0)) == ()
    assert compared >= 5


@pytest.mark.slow
@pytest.mark.parametrize("dated", [False, True])
def test_local_search_keeps_all_that_holds_and_is_never_louder(dated: bool) -> None:
    """From the plain order on: same blocks, no more windows, no strain, not louder."""
    changed = 0
    for _, _, work in cases():
        slots: list[Slot] = build_weekly_slots(work, 8.0)
        if dated:
            slots = build_slots(build_windows(replace(LONG, crew=1), 60), 1)
        before = plain_batches(work, slots)
        if before is None:
            continue
        grid = TimeGrid(work, slots)
        at = make_quieter(build_problem(grid), build_assignment(before))
        after = grid.batches(at)[: count_windows(at)]
        assert sorted(name for batch in after for name in batch) == sorted(work.block)
        assert not find_strains(work, after) or find_strains(work, before)
        one, other = (evaluate(work, slots[: len(before)], batches) for batches in (before, after))
        assert other.windows <= one.windows
        assert other.loudness <= one.loudness + 1e-9
        changed += other.loudness < one.loudness - 1e-6
    assert changed
