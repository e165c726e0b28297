"""Pools of alike units written by patterns, what one unit can carry at once, beside a programme's own rows.

Column generation: the relaxation over the patterns there are prices units and items, new patterns that pay
are added, and the prices, of which no unit's items hold more than 1 in all, are a row that holds for every
answer. The programme with these rows alone gives the bound, so that stopping early gives one too.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

import numpy as np
import pulp

from planner.placement.column_generation.arc_flow_graph import (
    ArcFlowGraph,
    Group,
    build_graph,
    grouped,
    integral_part,
)
from planner.placement.column_generation.arc_flow_model import ArcFlowModel
from planner.placement.column_generation.columns import Column, Columns, Relaxation, Rows
from planner.placement.column_generation.pool_rows import Pool
from planner.placement.column_generation.pricing import (
    EPS,
    Knapsack,
    PricedPatterns,
    Prices,
    clock,
)
from planner.placement.params import PARAMS
from planner.placement.pool_instance import PoolInstance
from planner.solver import Limits, Program
from planner.solver.confirm import Claim

UNTIL_DONE = 10**6


class RestrictedMaster:
    """A programme with its pools and what may go there; ``good``: the best value known, to be undercut.

    A pool is the number of its units that are on, whether each item goes there, and the items to be priced.
    ``grain`` is the step in which values can differ, 0 where they can by any amount.
    """

    def __init__(
        self,
        program: Program,
        objective: pulp.LpAffineExpression,
        rows: Mapping[str, pulp.LpConstraint],
        pools: Sequence[tuple[pulp.LpVariable, Sequence[pulp.LpVariable], PoolInstance]],
        limits: Limits,
        grain: float = 0.0,
        good: float = math.inf,
        cancel: threading.Event | None = None,
    ) -> None:
        self.limits, self.cancel, self.stop = limits, cancel, clock(limits, cancel)
        self.deadline = time.monotonic() + limits.time_s
        self.grain, self.good, self.offset = grain, good, float(objective.constant)
        self.instances = [instance for _, _, instance in pools]
        written = [Pool(on, instance.by_class(place)) for on, place, instance in pools]
        self.columns = Columns(program, objective, rows, written)
        self.rows = Rows(program, objective, rows, written)
        self.lower, self.closed = -math.inf, False
        self.summed = -math.inf
        self.claim: Callable[[], Claim] | None = None
        self._groups: list[Group] | None = None
        self._taught: list[tuple[int, Prices]] = []
        self._centre: list[Prices | None] = [None] * len(pools)
        self._centred = -math.inf

    @property
    def bound(self) -> float:
        """What every answer is worth at least: the least value possible over the bound."""
        return self._on_step(self.lower)

    @property
    def shown(self) -> float:
        """What of the bound is shown by sums and prices alone, added up without a solver."""
        return self._on_step(max(self.summed, self.rows.shown()))

    def _on_step(self, lower: float) -> float:
        if self.grain <= 0.0 or not math.isfinite(lower):
            return lower
        steps = (lower - self.offset) / self.grain
        return self.offset + self.grain * math.ceil(steps - EPS * max(1.0, abs(steps)))

    @property
    def spent(self) -> float:
        """The share of the time that is over."""
        return 1.0 - (self.deadline - time.monotonic()) / max(self.limits.time_s, EPS)

    def add(self, pool: int, patterns: Iterable[Column]) -> bool:
        """Add patterns by the items in them; False where all are there already."""
        before = len(self.columns.columns)
        for pattern in patterns:
            self.columns.add(pool, self.instances[pool].class_pattern(pattern))
        return len(self.columns.columns) > before

    def learnt_cuts(self) -> list[tuple[int, Prices]]:
        """Look up, by pool, prices of its items that hold the bound up: no unit holds more than 1 in all."""
        return [
            (pool, prices[self.instances[pool].class_of])
            for pool, prices in (self._taught[number] for number in self.rows.binding())
        ]

    def generate_until_bound(self) -> None:
        """Price until the bound is as good as the relaxation, as far as values can differ."""
        self._generate(UNTIL_DONE, sure=True, fully=False)

    def generate_all(self) -> Relaxation | None:
        """Price until no pattern pays; ``closed`` says whether that was reached."""
        return self._generate(UNTIL_DONE, sure=True, fully=True)

    def improve(self, rounds: int) -> Relaxation | None:
        """Price quickly for a few rounds, whatever is fixed; None where there is no relaxation."""
        return self._generate(rounds, sure=False, fully=False)

    def _generate(self, rounds: int, sure: bool, fully: bool) -> Relaxation | None:
        priced = self.columns.relax()
        for _ in range(rounds):
            if priced is None or self.stop():
                break
            fresh = self._price(priced, sure)
            if sure and not fully and self._enough(priced.value):
                break
            if not fresh:
                self.closed = sure and not self.stop()
                break
            priced = self.columns.relax()
        return priced

    def _enough(self, relaxed: float) -> bool:
        """Say whether no value is left between the bound and the relaxation, or under the best one."""
        return self.bound >= min(relaxed, self.good) - max(PARAMS.pricing.close * abs(relaxed), EPS)

    def _price(self, priced: Relaxation, sure: bool) -> bool:
        """Add patterns that pay at these prices, and rows that they teach; False where no pattern pays."""
        fresh, held, over = False, list(self._centre), 1.0
        for pool in range(len(self.instances)):
            unit = priced.units[pool]
            if unit < PARAMS.pricing.free * (1.0 + abs(priced.value)):
                continue
            for listed, at in self._price_pool(pool, priced.items[pool] / unit, sure):
                held[pool], over = at / max(1.0, listed.most), max(over, listed.most)
                if sure and self.rows.add(pool, at / max(1.0, listed.most)):
                    self._taught.append((pool, at / max(1.0, listed.most)))
                fresh |= self.add(pool, choose_diverse(listed, PARAMS.pricing.per_item if sure else 1))
        if sure:
            self.lower = max(self.lower, self.rows.value())
        if sure and priced.value / over > self._centred:
            self._centred, self._centre = priced.value / over, held
        return fresh

    def _price_pool(self, pool: int, prices: Prices, sure: bool) -> Iterator[tuple[PricedPatterns, Prices]]:
        """List patterns that pay: at smoothed prices, then at the given ones, at last with none left out."""
        instance, centre, params = self.instances[pool], self._centre[pool], PARAMS.pricing
        if centre is not None and sure:
            smooth = params.smooth * centre + (1.0 - params.smooth) * prices
            listed = Knapsack(instance, smooth).find(1.0 + EPS, self.stop, params.width, beam=True)
            yield listed, smooth
            if any(prices[instance.class_of[list(pattern)]].sum() > 1.0 + EPS for pattern in listed.patterns):
                return
        knapsack, width = Knapsack(instance, prices), params.width
        listed = knapsack.find(1.0 + EPS, self.stop, width, beam=True)
        while sure and not listed.patterns and not listed.complete:
            if width >= params.most_states or self.stop():
                break
            width *= params.wider
            listed = knapsack.find(1.0 + EPS, self.stop, width, beam=True)
        yield listed, prices

    def patterns_within_gap(
        self, priced: Relaxation, below: float, most: int
    ) -> set[tuple[int, Column]] | None:
        """Add and give all patterns that an answer of at most ``below`` may take; None where too many."""
        found, gap = list[tuple[int, PricedPatterns]](), self._gap(priced, below)
        for pool, instance in enumerate(self.instances):
            unit, prices = priced.whole[pool]
            if unit < PARAMS.pricing.free * (1.0 + abs(priced.value)):
                return None
            knapsack = Knapsack(instance, prices / unit, every=True)
            listed = knapsack.find(1.0 - gap / unit - EPS, self.stop, 16 * most, beam=False, maximal=True)
            if not listed.complete or len(listed.patterns) > most:
                return None
            found.append((pool, listed))
        for pool, listed in found:
            self.add(pool, listed.patterns)
        return {
            (pool, self.instances[pool].class_pattern(each))
            for pool, listed in found
            for each in listed.patterns
        }

    def arc_flow(self, priced: Relaxation, below: float, rounded: bool = False) -> ArcFlowModel | None:
        """Build the arc-flow model of all that an answer of at most ``below`` may take; None if too large.

        With ``rounded`` only answers that take what the relaxation takes whole.
        """
        if self._groups is None:
            self._groups = grouped(self.columns, self.instances)
        gap, graphs = self._gap(priced, below), list[ArcFlowGraph]()
        for group in self._groups:
            taken = integral_part(group, self.columns, priced) if rounded else ()
            graphs.append(build_graph(group, priced, gap, taken))
        arcs = sum(len(each.arcs) for each in graphs)
        return ArcFlowModel(self.columns, graphs) if graphs and arcs <= PARAMS.diving.most_arcs else None

    def _gap(self, priced: Relaxation, below: float) -> float:
        """Compute what a unit may be over the prices of its items, in an answer of at most ``below``."""
        return below - priced.value + EPS * (1.0 + abs(priced.value))


def choose_diverse(listed: PricedPatterns, times: int) -> list[Column]:
    """Choose the best patterns, each with an item that fewer than so many better ones hold."""
    held: dict[int, int] = {}
    found = []
    for index in np.argsort(-listed.worths, kind="stable").tolist():
        pattern = listed.patterns[index]
        if any(held.get(item, 0) < times for item in pattern):
            found.append(pattern)
            held.update({item: held.get(item, 0) + 1 for item in pattern})
    return found
