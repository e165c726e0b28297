"""Moves: from a site today to a planned state, in waves that can be rolled back."""

from planner.moves.cycles import Cycle
from planner.moves.tasks import Sort, Task
from planner.moves.wave import Order, Wave
from planner.moves.waves import order

__all__ = ["Cycle", "Order", "Sort", "Task", "Wave", "order"]
