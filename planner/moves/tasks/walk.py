"""Hands an order to the judge as it stands on paper."""

from __future__ import annotations

from planner.domain.order import WrittenOrder, WrittenWave, figures_of
from planner.domain.site import Site
from planner.domain.state import State
from planner.moves.tasks.wave import Order, Wave
from planner.verify import Breach, verify_order


def written(order: Order, past: int = 0) -> WrittenOrder:
    """Write an order down; its first ``past`` waves stand already."""
    waves = tuple(_wave(wave, is_past=index < past) for index, wave in enumerate(order.waves))
    return WrittenOrder(waves, tuple(order.cycles), order.given_up)


def _wave(wave: Wave, *, is_past: bool) -> WrittenWave:
    figures = figures_of(wave.ledger, wave.rack_u)
    return WrittenWave(wave.number, wave.tasks, wave.start, wave.end, figures, is_past)


def walk(site: Site, target: State, order: Order, past: int = 0) -> tuple[Breach, ...]:
    """Find all that an order does wrong, none for a good one; limits today passes are not blamed."""
    return verify_order(site, target, written(order, past))
