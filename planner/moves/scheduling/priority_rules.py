"""Which block is taken first where a schedule is built: lists, the trade's order, chance.

The plain list is any topological order; the quiet list takes first what lowers the noise most for an hour
of work, with all that it needs (the greedy rule of Smith and Sidney for weighted times of completion). A
serial list schedule is good at any one rule by luck only; a thousand mixed rules are seldom far from the
best number of windows (Kolisch 1996).
"""

from __future__ import annotations

import random
from collections.abc import Collection, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass

import networkx as nx

from planner.domain.order import Sort, task_id
from planner.moves.figures.evaluator import Figure
from planner.moves.grid.time_grid import TimeGrid
from planner.moves.tasks.precedence import Lag
from planner.moves.tasks.tiers import Tier, is_companion, tier_of
from planner.moves.tasks.work_packages import ORDER, Work

QUIETING = frozenset({Sort.MEASURE, Sort.COOLING_OFF, Sort.HOLD})
"""What lowers the noise."""

LAG_WEIGHT_H = {Lag.SAME: 0.0, Lag.LATER: 3.0, Lag.HELD: 20.0}
"""What a lag counts beside hours of work in the urgency of what is before it."""


@dataclass(frozen=True)
class PriorityRule:
    """By place in a list; without one by kind of task, tier and hours.

    ``box_by_box``: machines come in only for the box that is freed next. ``tier_by_tier``: what moves in one
    window is of one tier.
    """

    work: Work
    place: Mapping[str, float] | None = None
    box_by_box: bool = False
    tier_by_tier: bool = False

    def rank(self, names: Collection[str], done: Collection[str], batch: Set[str]) -> list[str]:
        """Sort the blocks that may be taken next; ``batch`` is what the window holds already."""
        focus = find_next_box(self.work, done) if self.box_by_box else frozenset[str]()
        if focus:
            names = [name for name in names if name in focus or not self._brings_in(name)]
        tier = self._tier(batch) if self.tier_by_tier else None
        if tier is not None:
            names = [n for n in names if is_companion(self.work, n) or tier_of(self.work, n) == tier]
        return sorted(names, key=lambda name: (bool(focus) and name not in focus, self._key(name)))

    def _brings_in(self, name: str) -> bool:
        return Sort.BRING_IN in self.work.block[name].sorts

    def _tier(self, batch: Set[str]) -> Tier | None:
        return next((tier_of(self.work, name) for name in batch if not is_companion(self.work, name)), None)

    def _key(self, name: str) -> tuple[float, float, float, str]:
        if self.place is not None:
            return self.place[name], 0.0, 0.0, name
        sort = self.work.tasks[name].sort
        return ORDER[sort], tier_of(self.work, name), self.work.block[name].hours, name


def trade_rules(work: Work) -> tuple[PriorityRule, PriorityRule]:
    """Look up the rules of the trade: tier by tier, and box by box."""
    return PriorityRule(work, tier_by_tier=True), PriorityRule(work, box_by_box=True)


def find_next_box(work: Work, done: Collection[str]) -> frozenset[str]:
    """Find the blocks still to be done for the box that is freed at the least peak watts; none: empty."""
    best: tuple[tuple[float, int, str], frozenset[str]] | None = None
    for box in work.change.held:
        hold = work.of_task.get(task_id(Sort.HOLD, box))
        if hold is None or hold in done:
            continue
        left = frozenset(name for name in (hold, *work.needed[hold]) if name not in done)
        key = _coming_w(work, left) - work.change.site.box[box].spec.peak_w, len(left), box
        if best is None or key < best[0]:
            best = key, left
    return frozenset() if best is None else best[1]


def _coming_w(work: Work, names: Set[str]) -> float:
    """Compute the peak watts of the machines that some blocks bring in."""
    coming = {task.subject for name in names for task in work.block[name].tasks if task.sort is Sort.BRING_IN}
    site = work.change.site
    return sum(machine.spec(site).peak_w for machine in work.change.bought if machine.name in coming)


def place_in(names: Sequence[str]) -> dict[str, float]:
    """Look up the place of each block in a list."""
    return {name: float(number) for number, name in enumerate(names)}


def build_plain_list(work: Work) -> list[str]:
    """Sort the blocks topologically, those of equal right by name."""
    return list(nx.lexicographical_topological_sort(work.graph))


def build_quiet_list(work: Work, loud: Figure) -> list[str]:
    """Sort the blocks so that the noise goes down early, each with what must come before it."""
    plain = build_plain_list(work)
    needed = {b.name: work.needed[b.name] | {b.name} for b in work.blocks if b.sorts & QUIETING}
    taken: list[str] = []
    while rest := {name: needed[name] - {*taken} for name in needed if name not in taken}:
        best = _find_quietest(work, loud, frozenset(taken), rest)
        taken += [name for name in plain if name in best]
    return [*taken, *(name for name in plain if name not in {*taken})]


def _find_quietest(
    work: Work, loud: Figure, taken: frozenset[str], rest: Mapping[str, frozenset[str]]
) -> frozenset[str]:
    """Find the blocks of the step that lowers the noise most for an hour of work."""
    now = loud.after(taken)

    def gain(name: str) -> tuple[float, str]:
        hours = sum(work.block[other].hours for other in rest[name])
        return (loud.after(taken | rest[name]) - now) / max(hours, 0.1), name

    return rest[min(rest, key=gain)]


def draw_ranks(
    grid: TimeGrid, quiet: Sequence[str], seed: int, noise_h: Sequence[float]
) -> Iterator[dict[str, float]]:
    """Draw ranks without end: the quiet list, then random mixes of it with urgencies, and chance."""
    rng, place = random.Random(seed), place_in(quiet)
    tail_h, load_h = _compute_tails_h(grid), _compute_loads_h(grid)
    yield place
    while True:
        urgent, heavy, long, early = rng.random() * 3, rng.random() * 3, rng.random() * 2, rng.random()
        noise = rng.choice(noise_h)
        yield {
            name: early * place[name]
            - urgent * tail_h[name]
            - heavy * load_h[name] / 10.0
            - long * 5.0 * grid.blocks[name].hours
            + noise * rng.random()
            for name in grid.names
        }


def _compute_tails_h(grid: TimeGrid) -> dict[str, float]:
    """Compute the longest chain from each block on, lags weighed, h."""
    found: dict[str, float] = {}
    for name in reversed(grid.names):
        later = (found[other] + LAG_WEIGHT_H[lag] for other, lag in grid.after[name])
        found[name] = max(later, default=0.0) + grid.blocks[name].hours
    return found


def _compute_loads_h(grid: TimeGrid) -> dict[str, float]:
    """Compute the hours of all that needs each block."""
    found = dict.fromkeys(grid.names, 0.0)
    for name, needed in grid.work.needed.items():
        for other in needed:
            found[other] += grid.blocks[name].hours
    return found
