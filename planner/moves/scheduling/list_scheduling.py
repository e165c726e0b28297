"""Orders built from a list: what stands first in it goes into the first window that takes it.

The plain list is any topological order; the quiet list takes first what lowers the noise most for an hour
of work, with all that it needs (the greedy rule of Smith and Sidney for weighted times of completion).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import networkx as nx

from planner.domain import practice
from planner.domain.order import Sort
from planner.moves.figures.evaluator import Figure, LimitEvaluator
from planner.moves.figures.room_figures import Figures
from planner.moves.grid.slots import Slot
from planner.moves.scheduling.wave_building import Builder
from planner.moves.tasks.work_packages import Work

STUCK_H = (practice.HOLD_DAYS + 14) * 24.0
"""So long without any work, with nothing held, means that nothing more can be done."""

QUIETING = frozenset({Sort.MEASURE, Sort.COOLING_OFF, Sort.HOLD})
"""What lowers the noise."""


@dataclass
class Listed(Builder):
    """Fills each slot with what is ready and fits, in the order of ``place``; limits are kept.

    ``one_by_one``: machines come in only for the box that is freed next.
    """

    lazy: bool = True
    one_by_one: bool = False
    place: Mapping[str, int] = field(default_factory=dict)

    def filled(self) -> list[set[str]]:
        """Fill slots until nothing is left, no slot is, or nothing more can come."""
        batches: list[set[str]] = []
        for index in range(len(self.slots)):
            if not self.left or self._is_stuck(index):
                break
            batches.append(self.fill(index))
        return batches

    def _is_stuck(self, index: int) -> bool:
        last = max(self.placed.values(), default=0)
        since = self.slots[index].month - self.slots[last].month
        still_dear = math.isfinite(self.slots[index].money) and since in (0, 1)
        still_held = max(self.ready_h.values(), default=-math.inf) > self.slots[index].start_h
        return (
            not (still_held or still_dear)
            and index > last
            and self.slots[index].start_h > self.slots[last].end_h + STUCK_H
        )

    def _rank(self, name: str) -> tuple[bool, int, int, float, str]:
        apart = self.one_by_one and bool(self.focus) and name not in self.focus
        return (apart, self.place[name], 0, 0.0, name)

    def _is_wanted(self, name: str) -> bool:
        return not self.one_by_one or super()._is_wanted(name)


def from_list(
    work: Work,
    slots: Sequence[Slot],
    names: Sequence[str],
    ready_h: Mapping[str, float] | None = None,
    meter: LimitEvaluator | None = None,
) -> list[set[str]]:
    """Give batches of blocks after a list of their names; what the slots do not take is left out."""
    place = {name: number for number, name in enumerate(names)}
    known = meter or LimitEvaluator(work)
    for one_by_one in (False, True):
        builder = Listed(work, slots, ready_h or {}, meter=known, one_by_one=one_by_one, place=place)
        batches = builder.filled()
        if not builder.left:
            break
    return batches


def plain_list(work: Work) -> list[str]:
    """Give the blocks in topological order, those of equal right by name."""
    return list(nx.lexicographical_topological_sort(work.graph))


def quiet_list(work: Work) -> list[str]:
    """Give the blocks so that the noise goes down early, each with what must come before it."""
    plain, figure = plain_list(work), Figure(work, Figures(work.change).loudness())
    needed = {
        block.name: work.needed[block.name] | {block.name} for block in work.blocks if block.sorts & QUIETING
    }
    placed: list[str] = []
    while rest := {name: needed[name] - {*placed} for name in needed if name not in placed}:
        best = _best(work, figure, frozenset(placed), rest)
        placed += [name for name in plain if name in best]
    return [*placed, *(name for name in plain if name not in {*placed})]


def _best(
    work: Work, figure: Figure, placed: frozenset[str], rest: Mapping[str, frozenset[str]]
) -> frozenset[str]:
    """Give the blocks of the step that lowers the noise most for an hour of work."""
    now = figure.after(placed)

    def gain(name: str) -> tuple[float, str]:
        hours = sum(work.block[other].hours for other in rest[name])
        return (figure.after(placed | rest[name]) - now) / max(hours, 0.1), name

    return rest[min(rest, key=gain)]
