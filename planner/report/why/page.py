"""Why a service goes where it goes: each machine, and what it would change, as plain data."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from planner.domain.conflict import Rule
from planner.domain.plan import Outcome, Plan, aim_value
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.ledger import ledger
from planner.placement.studies.forced_assignment import Forced
from planner.report.common.conflicts import conflict_words, reasons
from planner.report.common.figures import listed
from planner.report.common.json_data import Document
from planner.report.plan.alternatives import otherwise
from planner.report.plan.reasons import service_reason


@dataclass(frozen=True)
class PlaceEntry:
    """A machine the service could be on.

    ``verdict``: planned, possible, forbidden (by a rule or limit alone), impossible (no plan has it there) or
    unknown (none was found in time). Differences are the best such plan's figures less those of the plan;
    a level of None means that nothing sounds in one of the two. ``proven``: no such plan is better.
    """

    machine: str
    verdict: str
    reasons: tuple[str, ...]
    levels_more_db: tuple[tuple[str, float | None], ...]
    power_more_w: float | None
    cost_more: float | None
    otherwise: tuple[str, ...]
    proven: bool


@dataclass(frozen=True)
class WhyPage:
    """Everything a person is told about where a service goes."""

    site: str
    currency: str
    service: str
    runs_today_on: str
    runs_then_on: str
    reason: str
    places: tuple[PlaceEntry, ...]


RESIDENTS = "left as they are, they take no service from elsewhere"
ORDER = ("planned", "possible", "unknown", "impossible", "forbidden")


def why_page(site: Site, plan: Plan, service: str, found: Iterable[Forced]) -> WhyPage:
    """Build the page of a service from what comes of it on each machine."""
    every = list(found)
    strangers = [item.machine for item in every if [each.rule for each in item.forbidden] == [Rule.RESIDENTS]]
    places = [_entry(site, plan, service, item) for item in every if item.machine not in strangers]
    places.sort(key=lambda entry: ORDER.index(entry.verdict))
    if strangers:
        places.append(_without_plan(listed(strangers), "forbidden", (RESIDENTS,)))
    return WhyPage(
        site=site.name,
        currency=site.currency,
        service=service,
        runs_today_on=site.service[service].box,
        runs_then_on=plan.state.where(service)[0].name,
        reason=service_reason(site, plan.state, service),
        places=tuple(places),
    )


@dataclass(frozen=True, kw_only=True)
class WhyDocument(Document):
    """What 'stillroom why --json' writes: a service, and what each machine would change."""

    format: Literal["stillroom-why"] = "stillroom-why"
    version: Literal[1] = 1
    page: WhyPage


def _entry(site: Site, plan: Plan, service: str, item: Forced) -> PlaceEntry:
    if item.planned:
        return _without_plan(item.machine, "planned", ())
    if item.forbidden:
        return _without_plan(
            item.machine, "forbidden", tuple(conflict_words(site, each) for each in item.forbidden)
        )
    if item.plan is None:
        known = item.outcome is Outcome.INFEASIBLE and item.exact and bool(item.confirmed_by)
        confined = (RESTART_CONFINED.format(service, item.machine),)
        words = reasons(site, item.outcome, item.conflicts) if item.exact else confined
        return _without_plan(item.machine, "impossible" if known else "unknown", words or (NOT_FOUND,))
    return _with_plan(site, plan, item, item.plan)


RESTART_CONFINED = (
    "whether a plan can have it there is open: where {0} restarts on a machine of another sort was "
    "not searched to the end, and none was found in which it restarts on {1}"
)
NOT_FOUND = "no plan that has it there was found before the search ended"


def _without_plan(machine: str, verdict: str, reasons: tuple[str, ...]) -> PlaceEntry:
    return PlaceEntry(machine, verdict, reasons, (), None, None, (), verdict in ("planned", "impossible"))


def _with_plan(site: Site, plan: Plan, item: Forced, other: Plan) -> PlaceEntry:
    book, mine = ledger(site, plan.state), ledger(site, other.state)
    cost = [aim_value(site, each.state, of, Aim.COST) for each, of in ((other, mine), (plan, book))]
    return PlaceEntry(
        machine=item.machine,
        verdict="possible",
        reasons=(),
        levels_more_db=tuple(
            (name, _more(mine.levels_dba[name], level)) for name, level in book.levels_dba.items()
        ),
        power_more_w=round(mine.mean_power_w - book.mean_power_w, 1) + 0.0,
        cost_more=round(cost[0] - cost[1], 2) + 0.0,
        otherwise=tuple(otherwise(site, plan, other)),
        proven=other.sure and item.exact,
    )


def _more(after_dba: float, before_dba: float) -> float | None:
    more = after_dba - before_dba
    return round(more, 2) + 0.0 if math.isfinite(more) else None
