"""Builds the trade-off page from a front; the recommendation in a sentence with the neighbours' figures."""

from __future__ import annotations

from planner.domain.plan import outlay, purchases
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.ledger import ledger
from planner.placement.studies.front import Front, Point, Scale
from planner.placement.studies.knee import Knee, knee
from planner.report.common import assumed
from planner.report.common.conflicts import reasons
from planner.report.common.figures import finite, number, short
from planner.report.plan.build import NOTE
from planner.report.tradeoff.page import PointEntry, PointLevel, TradeoffPage


def tradeoff_page(front: Front) -> TradeoffPage:
    """Build the page of a front."""
    chosen = knee(front)
    return TradeoffPage(
        site=front.site.name,
        currency=front.site.currency,
        scale=str(front.scale),
        unit="dB" if front.scale is Scale.TARGETS else "dBA",
        outcome=str(front.outcome),
        stopped_by=front.stopped_by,
        confirmed=front.confirmed,
        contradictions=front.contradictions,
        zones=front.zones,
        reasons=reasons(front.site, front.outcome, front.conflicts),
        points=tuple(_entry(front.site, index, point, chosen) for index, point in enumerate(front.points, 1)),
        because="" if chosen is None else because(front, chosen),
        note=NOTE,
    )


def because(front: Front, chosen: Knee) -> str:
    """Say why a point is recommended: what the next step quieter costs, and what the step before did."""
    here, quieter, louder = chosen.point, chosen.quieter, chosen.louder
    currency = front.site.currency
    words = "nearest to the best of all three at once"
    if front.scale is Scale.TARGETS and here.sound > 0.0:
        words += f", though {short(here.sound)} dB over the targets"
    if quieter is not None:
        words += f"; the next {short(here.sound - quieter.sound)} dB {_takes(here, quieter, currency)}"
    else:
        words += "; nothing is quieter"
    if louder is not None:
        return f"{words}; the {short(louder.sound - here.sound)} dB before {_takes(louder, here, currency)}"
    return f"{words}; nothing louder costs less"


def _takes(loud: Point, quiet: Point, currency: str) -> str:
    """Say what the step from a louder point to a quieter one costs and takes."""
    money, power = quiet.cost - loud.cost, quiet.power_w - loud.power_w
    words = f"{'cost' if money >= 0.0 else 'save'} {number(abs(money))} {currency}"
    if abs(power) < 0.5:
        return words
    return f"{words} and take {number(abs(power))} W {'more' if power > 0.0 else 'less'}"


def _entry(site: Site, index: int, point: Point, chosen: Knee | None) -> PointEntry:
    state, book = point.plan.state, ledger(site, point.plan.state)
    lines = purchases(site, state)
    gaps = {result.aim: None if result.proven else finite(result.gap, 2) for result in point.plan.aims}
    running = frozenset[str]().union(*state.cooling.values())
    return PointEntry(
        number=index,
        sound_db=point.sound,
        power_w=round(point.power_w, 1),
        cost=round(point.cost, 2),
        outlay=round(outlay(site, state), 2),
        hours=round(sum(item.hours for item in lines), 2),
        levels=tuple(
            PointLevel(
                listener=item.name,
                level_dba=finite(book.levels_dba[item.name], 1),
                target_dba=item.target_dba,
                assumed=assumed.level_assumed(site, book, item.name),
            )
            for item in site.listeners
        ),
        bought=tuple(f"{item.count} x {item.what}" for item in lines if item.sort in ("machine", "re-use")),
        measures=tuple(item.name for item in site.measures if item.name in state.measures),
        cooling=tuple(item.name for item in site.cooling if item.name in running),
        boxes_on=tuple(machine.box for machine in state.machines if machine.box is not None),
        recommended=chosen is not None and chosen.point is point,
        proven=point.proven,
        confirmed=point.plan.confirmed,
        sound_gap_db=gaps[Aim.SOUND],
        power_gap_w=gaps[Aim.POWER],
        cost_gap=gaps[Aim.COST],
    )
