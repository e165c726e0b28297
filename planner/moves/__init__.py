"""Moves: from a site today to a planned state, in waves that can be rolled back.

``order`` builds waves without dates; ``schedule`` puts them into maintenance windows and proves how good
that is. ``runbook`` and ``calendar`` tell an order to people; ``progress`` keeps what has been done.
"""

from planner.moves.orders import order
from planner.moves.progress import Mark, Progress
from planner.moves.schedule import Options, Schedule, schedule
from planner.moves.search import Aimed
from planner.moves.walk import walk
from planner.moves.wave import Order, Wave
from planner.order import Cycle, Sort, Task

__all__ = [
    "Aimed",
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
