"""Moves: from a site today to a planned state, in waves that can be rolled back.

``order`` builds waves without dates; ``schedule`` puts them into maintenance windows and proves how good
that is. ``runbook`` and ``calendar`` tell an order to people; ``progress`` keeps what has been done.

Why so: what stands is walked, but not blamed: limits that a person sets later cannot be kept by waves that
are done.
"""

from planner.domain.order import Cycle, Sort, Task
from planner.moves.scheduling.aim_result import AimResult
from planner.moves.scheduling.request import Options
from planner.moves.scheduling.schedule import Schedule, schedule
from planner.moves.scheduling.undated import order
from planner.moves.tasks.progress import Mark, Progress
from planner.moves.tasks.walk import walk
from planner.moves.tasks.wave import Order, Wave

__all__ = [
    "AimResult",
    "Cycle",
    "Mark",
    "Options",
    "Order",
    "Progress",
    "Schedule",
    "Sort",
    "Task",
    "Wave",
    "order",
    "schedule",
    "walk",
]
