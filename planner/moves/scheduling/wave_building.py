"""An order built wave by wave after the trade's rules: a plan by itself, and the schedule's start."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, field

from planner.domain.order import Sort
from planner.moves.figures.evaluator import LimitEvaluator
from planner.moves.grid.slots import WEEK_H, Slot, is_affordable, is_near
from planner.moves.scheduling.box_focus import focus
from planner.moves.tasks.limits import Strain, worse_than
from planner.moves.tasks.precedence import Lag
from planner.moves.tasks.tiers import is_companion, tier_of
from planner.moves.tasks.work_packages import ORDER, Work


@dataclass
class Builder:
    """Fills one slot after the other. ``placed`` gives the slot index of each block done.

    ``ready_h`` is the hour from which a block may be done where what came before is done already. ``lazy``:
    machines come in only for the box that is freed next, instead of all of them first.
    """

    work: Work
    slots: Sequence[Slot]
    ready_h: Mapping[str, float] = field(default_factory=dict)
    lazy: bool = False
    placed: dict[str, int] = field(default_factory=dict)
    focus: frozenset[str] = frozenset()
    meter: LimitEvaluator | None = None

    def __post_init__(self) -> None:
        """Lay out what the limits hang on, where it is not given."""
        self.reads = self.meter or LimitEvaluator(self.work)

    @property
    def left(self) -> list[str]:
        """Blocks not placed, in the work's order."""
        return [block.name for block in self.work.blocks if block.name not in self.placed]

    def is_ready(self, name: str, index: int) -> bool:
        """Say whether all that comes before a block is done, early enough for a slot."""
        if self.slots[index].start_h < self.ready_h.get(name, -math.inf):
            return False
        return all(self._allows(before, name, index) for before in self.work.graph.predecessors(name))

    def _allows(self, before: str, name: str, index: int) -> bool:
        if before not in self.placed:
            return False
        lag, at = self.work.lags[before, name], self.placed[before]
        if lag is Lag.SAME:
            return True
        return at < index and self.slots[index].start_h >= self.slots[at].end_h + lag.hours

    def fill(self, index: int, *, force: bool = False) -> set[str]:
        """Fill a slot with what is ready, fits and strains nothing; ``force`` puts something in anyway."""
        batch: set[str] = set()
        while True:
            if self.lazy:
                self.focus = focus(self.work, self.placed.keys())
            names = [name for name in self.left if self.is_ready(name, index) and self._is_wanted(name)]
            name = self._next(index, batch, names)
            if name is None and not batch and force:
                name = self._least_bad(index, names)
            if name is None:
                return batch
            batch.add(name)
            self.placed[name] = index

    def _next(self, index: int, batch: Set[str], names: Sequence[str]) -> str | None:
        tier = next((tier_of(self.work, name) for name in batch if self._is_main(name)), None)
        allowed = self._asked_now(index, batch)
        for name in sorted(names, key=self._rank):
            is_due = self.lazy or tier is None or not self._is_main(name) or tier_of(self.work, name) == tier
            if not is_due or not self._may_join(index, batch, name):
                continue
            if not worse_than(allowed, self._asked(index, {*batch, name})):
                return name
        return None

    def _is_wanted(self, name: str) -> bool:
        """Say whether a machine that comes in is for the box that is freed next."""
        return not self.focus or name in self.focus or Sort.BRING_IN not in self.work.block[name].sorts

    def _is_main(self, name: str) -> bool:
        return not is_companion(self.work, name)

    def _rank(self, name: str) -> tuple[bool, int, int, float, str]:
        sort = self.work.tasks[name].sort
        apart = bool(self.focus) and name not in self.focus
        return (apart, ORDER[sort], tier_of(self.work, name), self.work.block[name].hours, name)

    def _may_join(self, index: int, batch: Set[str], name: str) -> bool:
        hours = sum(self.work.block[other].hours for other in [*batch, name])
        if hours > self.slots[index].crew_h + 1e-9 or self.work.block[name].hours > self.slots[index].hours:
            return False
        is_limited = math.isfinite(self.slots[index].money)
        if is_limited and not is_affordable(self.work, self.slots, {**self.placed, name: index}):
            return False
        near = batch | {other for other, at in self.placed.items() if is_near(self.slots, at, index)}
        return not any(name in rule.blocks and near & {*rule.blocks} for rule in self.work.nevers)

    def _asked(self, index: int, batch: Set[str]) -> tuple[Strain, ...]:
        """Give what a wave asks of the limits at its turning points."""
        return self.reads.asked((other for other, at in self.placed.items() if at < index), batch)

    def _asked_now(self, index: int, batch: Set[str]) -> dict[tuple[str, str], float]:
        """Give what may be asked of each limit: what is asked without another block, or always."""
        found: dict[tuple[str, str], float] = {}
        for item in self._asked(index, batch):
            key = item.rule, item.where
            found[key] = max(item.value, found.get(key, item.value))
        return found

    def _least_bad(self, index: int, names: Sequence[str]) -> str | None:
        """Give the ready block that fits the hours best and strains least, when none does neither."""

        allowed = self._asked_now(index, set())

        def badness(name: str) -> tuple[bool, float, tuple[bool, int, int, float, str]]:
            over = worse_than(allowed, self._asked(index, {name}))
            excess = sum((item.value - item.limit) / max(1.0, abs(item.limit)) for item in over)
            return (not self._may_join(index, set(), name), excess, self._rank(name))

        return min(names, key=badness, default=None)


def weekly(work: Work, hours: float) -> list[Slot]:
    """Give a slot a week, as many as there are blocks: for orders without dates."""
    return [Slot(hours, index * WEEK_H, index * WEEK_H) for index in range(len(work.blocks))]


def built(
    work: Work,
    slots: Sequence[Slot],
    *,
    force: bool,
    ready_h: Mapping[str, float] | None = None,
    lazy: bool = False,
    meter: LimitEvaluator | None = None,
) -> list[set[str]]:
    """Fill slots in turn until nothing is left or no slot is; ``force`` fills each one somehow."""
    builder = Builder(work, slots, ready_h or {}, lazy, meter=meter)
    batches: list[set[str]] = []
    for index in range(len(slots)):
        if not builder.left:
            break
        batches.append(builder.fill(index, force=force))
    return batches
