"""The limits of every window as rows of the programme, some loosened where one asks what is in the way."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from planner.domain.conflict import Conflict, Rule
from planner.moves.figures.machine_presence import When
from planner.moves.figures.room_figures import Figures
from planner.moves.figures.window_limits import Limit, limits, list_all_limits
from planner.moves.scheduling.formulation import Model, Terms


def add_limits(
    model: Model,
    slack: Mapping[Conflict, Terms] | None = None,
    known: Iterable[tuple[When, Limit]] | None = None,
) -> None:
    """Add the limits of every window; ``slack`` loosens some, ``known`` is what all of them are."""
    for when, limit in list_all_limits(model.work) if known is None else known:
        if when is When.SETTLING and limit.about.rule is not Rule.HEAT:
            continue
        name = f"{limit.about.rule} {limit.about.place} {limit.about.resource} {limit.about.hour}"
        loose = list((slack or {}).get(limit.about, []))
        for index in model.windows:
            terms, constant = model.build_linear(limit.figure, index)
            room = limit.most - constant + 1e-7 * max(1.0, abs(limit.most))
            if terms or room < 0.0:
                model.at_most(f"{name} at {when.value}@{index}", [*terms, *loose], room)


def list_crest_limits(model: Model) -> list[Limit]:
    """List every limit of the crest."""
    return list(limits(Figures(model.work.change, When.CREST, model.work.late_tasks), model.work))
