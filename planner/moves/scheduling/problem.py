"""What a search asks of work and windows: grid, limits, figures to make small, numbers, cancel."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import dataclass, replace

from planner.moves.figures.evaluator import Figure, LimitEvaluator
from planner.moves.figures.machine_presence import When
from planner.moves.figures.polynomials import Poly
from planner.moves.figures.room_figures import Figures
from planner.moves.figures.window_limits import Limit, list_all_limits
from planner.moves.grid.time_grid import Assignment, TimeGrid
from planner.moves.params import PARAMS, ScheduleParams

LEVEL, WATTS = "level over time", "watts over time"


@dataclass(frozen=True)
class Aim:
    """A figure to be made small over time: its polynomial in tasks, and the same over blocks."""

    name: str
    poly: Poly
    figure: Figure


@dataclass(frozen=True)
class SearchProblem:
    """A grid with its limits, the level and the watts over time, and the seed of what is drawn."""

    grid: TimeGrid
    limits: Sequence[tuple[When, Limit]]
    evaluator: LimitEvaluator
    level: Aim
    watts: Aim
    params: ScheduleParams
    seed: int = 0
    cancel: threading.Event | None = None

    def on(self, grid: TimeGrid) -> SearchProblem:
        """Look at the same work on another grid."""
        return replace(self, grid=grid)

    @property
    def is_cancelled(self) -> bool:
        """True once somebody asks to stop."""
        return self.cancel is not None and self.cancel.is_set()

    def mean(self, aim: Aim, at: Assignment) -> float:
        """Compute the mean of an aim over time."""
        return aim.figure.mean(at, self.grid.spans_h)

    def keeps_limits(self, at: Assignment) -> bool:
        """Decide whether every wave of a schedule keeps the limits of the room."""
        return all(self.evaluator.holds(done, batch) for done, batch in self.grid.waves(at))


def build_problem(
    grid: TimeGrid,
    params: ScheduleParams | None = None,
    seed: int = 0,
    cancel: threading.Event | None = None,
) -> SearchProblem:
    """Build the limits and figures of the work of a grid."""
    work, figures = grid.work, Figures(grid.work.change)
    loud, watts = figures.loudness(), figures.mean_power()
    return SearchProblem(
        grid,
        list_all_limits(work),
        LimitEvaluator(work),
        Aim(LEVEL, loud, Figure(work, loud)),
        Aim(WATTS, watts, Figure(work, watts)),
        params or PARAMS,
        seed,
        cancel,
    )
