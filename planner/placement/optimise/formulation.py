"""The formulation of a solve: alike units aggregated to pools, refined by what packing teaches.

A pool that does not pack teaches a cut, or its kind is written out unit by unit (disaggregated); a loss of
hosts that does not restart is written out as well. What was learnt holds for every later question.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

import pulp

from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import State
from planner.placement.formulation import Model
from planner.placement.formulation.failover_rows import written_out
from planner.placement.formulation.packing_cuts import Cut
from planner.placement.formulation.problem import Loss
from planner.placement.formulation.question_model import Learnt, QuestionModel
from planner.placement.formulation.slots import pools_of_boxes
from planner.placement.packing.decode import Decoded
from planner.placement.params import PARAMS

Held = Sequence[tuple[Aim, float]]
ExtraRows = Callable[[Model], Mapping[str, pulp.LpConstraint]]
"""Makes the rows that a study adds to every model of it."""


class Formulation:
    """The model of a site as it is written now, and what was learnt about it.

    ``fixed``: a state whose services keep their places; ``extra_rows``: what a study asks beside the rules;
    ``tells_boxes_apart``: whether it matters which of several alike boxes are re-used.
    """

    questions: QuestionModel

    def __init__(
        self,
        site: Site,
        fixed: State | None = None,
        previous: State | None = None,
        extra_rows: ExtraRows = lambda _: {},
        tells_boxes_apart: bool = False,
    ) -> None:
        self._site, self._fixed, self._previous, self._extra_rows = site, fixed, previous, extra_rows
        self._cuts: list[Cut] = []
        apart = tells_boxes_apart or fixed is not None
        self._single = pools_of_boxes(site, previous) if apart else frozenset[str]()
        self._lost: frozenset[Loss] = frozenset()
        self._learnt = Learnt()

    @property
    def model(self) -> Model:
        """The model as it is written now."""
        return self.questions.model

    def write(self, held: Held) -> None:
        """Write the model anew with all that is held and learnt."""
        self.questions = self.tightened(0.0, held)

    def tightened(self, share: float, held: Held) -> QuestionModel:
        """Build the model with a share of the pooled hosts' capacity left out."""
        made = QuestionModel(
            self._site,
            self._single,
            share,
            held,
            self._cuts,
            self._fixed,
            self._previous,
            self._lost,
            self._learnt,
        )
        made.rows.update(self._extra_rows(made.model))
        return made

    def add_cuts(self, cuts: Iterable[Cut]) -> None:
        """Add what pools taught, to this model and all later ones."""
        self._cuts += cuts
        self.questions.cut(self._cuts)

    def learn(self, failed: Decoded, lessons: int, held: Held) -> bool:
        """Take a lesson from what did not pack; False where the question is too large to put again."""
        if failed.lost:
            return self._learn_losses(failed.lost, held)
        cuts = [cut for item in failed.failures for cut in item.cuts()]
        if cuts and lessons <= PARAMS.strategies.lessons and len(cuts) >= len(failed.failures):
            self.add_cuts(cuts)
            return True
        sizes = {item.slot.pool: item.slot.units * len(item.items) for item in failed.failures}
        if max(sizes.values()) > PARAMS.strategies.write_out:
            return False
        self._single |= frozenset(sizes)
        self.write(held)
        return True

    def _learn_losses(self, lost: tuple[tuple[str, ...], ...], held: Held) -> bool:
        """Write hosts out unit by unit, then the losses that do not pack; False where that is too large."""
        single, losses = written_out(self.model, lost, PARAMS.strategies.write_out)
        if single <= self._single and losses <= self._lost:
            return False
        self._single, self._lost = self._single | single, self._lost | losses
        self.write(held)
        return True

    def tell_hosts_apart(self, held: Held) -> None:
        """Write alike boxes one by one that an earlier plan made hosts: what moves between them is a change.

        Where that is too large they stay pooled, which bounds the changes still.
        """
        problem = self.model.problem
        hosts = [slot for slot in problem.slots if slot.alike is not None and slot.alike.were_hosts]
        size = sum(slot.units * len(problem.items_of(slot)) for slot in hosts)
        if hosts and size <= PARAMS.strategies.told_apart:
            self._single |= {slot.pool for slot in hosts}
            self.write(held)
