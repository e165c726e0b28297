"""Before against after: levels, watts, heat, air, energy, money, space, circuits, and what saves what."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from planner.domain.plan import outlay, purchases
from planner.domain.site import Site
from planner.domain.sound import Listener
from planner.domain.state import State, state_today
from planner.ledger import Ledger, SeasonLedger, ledger, today_ledger
from planner.ledger.certainty import certainty
from planner.ledger.stay import levels_inside, with_somebody_inside
from planner.physics import exposure, heat, power
from planner.report.common import assumed
from planner.report.common.figures import finite
from planner.report.plan.page import FigureEntry, ListenerEntry, Payback, SavedEntry
from planner.tolerances import LEVEL_DB

SECONDS_AN_HOUR = 3600.0
CONSOLIDATION = "consolidation"
MEASURES_AND_COOLING = "measures and cooling"
TOGETHER = "together"


@dataclass(frozen=True)
class Balance:
    """A site today, with only its services placed anew, and with everything done."""

    site: Site
    after_state: State

    @cached_property
    def before_state(self) -> State:
        """The site as it is."""
        return state_today(self.site)

    @cached_property
    def before(self) -> Ledger:
        """The ledger of today."""
        return today_ledger(self.site)

    @cached_property
    def placed(self) -> Ledger:
        """The ledger with the plan's machines, but today's cooling and no measure."""
        return ledger(self.site, State(self.after_state.machines, cooling=self.before_state.cooling))

    @cached_property
    def after(self) -> Ledger:
        """The ledger with everything done."""
        return ledger(self.site, self.after_state)

    @cached_property
    def states(self) -> tuple[State, State]:
        """Before and after."""
        return self.before_state, self.after_state

    @cached_property
    def room(self) -> Balance:
        """The same for whoever is in the room."""
        room = with_somebody_inside(self.site)
        return self if room is self.site else Balance(room, self.after_state)

    @cached_property
    def inside_dba(self) -> tuple[Mapping[str, float], Mapping[str, float]]:
        """Levels in the room by place, before and after."""
        room = self.room
        return levels_inside(room.site, room.before), levels_inside(room.site, room.after)

    @cached_property
    def mean_doubts(self) -> tuple[bool, bool]:
        """Whether what a year comes to is assumed, before and after."""
        before, after = (assumed.power_assumed(self.site, s, assumed.MEAN_POWER_FIGURES) for s in self.states)
        return before, after

    @cached_property
    def power_doubts(self) -> tuple[bool, bool]:
        """Whether watts with all running are assumed, before and after."""
        before, after = (assumed.power_assumed(self.site, state) for state in self.states)
        return before, after

    @cached_property
    def warmth_doubts(self) -> tuple[bool, bool]:
        """Whether room temperatures are assumed, before and after."""
        before, after = (assumed.climate_assumed(self.site, state) for state in self.states)
        return before, after


def listener_entries(balance: Balance) -> tuple[ListenerEntry, ...]:
    """Set out each listener's level before and after, its leading source, and whether the target is met."""
    return tuple(_listener(balance, item) for item in balance.site.listeners)


def _listener(balance: Balance, listener: Listener) -> ListenerEntry:
    name, target = listener.name, listener.target_dba
    before, after = balance.before, balance.after
    return ListenerEntry(
        listener=name,
        target_dba=target,
        before_dba=finite(before.levels_dba[name], 1),
        after_dba=finite(after.levels_dba[name], 1),
        leading_before=before.leading[name],
        leading_after=after.leading[name],
        met=None if target is None else _held_dba(balance, listener) <= target + LEVEL_DB,
        background_dba=listener.background_dba,
        before_assumed=assumed.level_assumed(balance.site, before, name),
        after_assumed=assumed.level_assumed(balance.site, after, name),
    )


def _held_dba(balance: Balance, listener: Listener) -> float:
    """Compute the level that must be under the target: with a confidence, the one that is kept so surely."""
    if listener.confidence is None:
        return balance.after.levels_dba[listener.name]
    return certainty(balance.site, balance.after_state, balance.after, listener).held_dba


def figure_entries(balance: Balance) -> tuple[FigureEntry, ...]:
    """Set out every other figure of the ledger before and after."""
    return (*_yearly(balance), *_seasonal(balance), *_in_the_room(balance), *_space(balance))


def _yearly(balance: Balance) -> Iterator[FigureEntry]:
    doubts = balance.mean_doubts
    before, after = balance.before, balance.after
    pairs = (
        ("power, mean of the year", "W", before.mean_power_w, after.mean_power_w),
        ("energy a year", "kWh", before.kwh_a_year, after.kwh_a_year),
        ("electricity a year", balance.site.currency, before.money_a_year, after.money_a_year),
    )
    for name, unit, old, new in pairs:
        yield FigureEntry(name, "site", unit, finite(old, 1), finite(new, 1), *doubts)
    factor = balance.site.supply.co2_kg_per_kwh
    if factor is not None:
        old, new = (power.co2_kg(book.kwh_a_year, factor) for book in (before, after))
        yield FigureEntry("carbon dioxide a year", "site", "kg", finite(old, 1), finite(new, 1), *doubts)


def _seasonal(balance: Balance) -> Iterator[FigureEntry]:
    limit = balance.site.policy.inlet_limit_c
    for old, new in zip(balance.before.seasons, balance.after.seasons, strict=True):
        for figure, unit, before, after in _watts(old, new):
            yield FigureEntry(figure, old.season, unit, before, after, *balance.power_doubts)
        for figure, unit, before, after in _air(old, new):
            guessed = bool(balance.site.room.assumed & assumed.LEAK_FIGURES)
            yield FigureEntry(figure, old.season, unit, before, after, guessed, guessed)
        warmth = finite(old.temperature_c, 1), finite(new.temperature_c, 1)
        yield FigureEntry("room temperature", old.season, "°C", *warmth, *balance.warmth_doubts, limit)


Row = tuple[str, str, float | None, float | None]


def _watts(old: SeasonLedger, new: SeasonLedger) -> Iterator[Row]:
    yield "power with all running", "W", finite(old.power_w, 1), finite(new.power_w, 1)
    yield "heat into the room", "W", finite(old.heat_w, 1), finite(new.heat_w, 1)
    yield "heat into the room", "BTU/h", finite(old.heat_btu_h, 1), finite(new.heat_btu_h, 1)


def _air(old: SeasonLedger, new: SeasonLedger) -> Iterator[Row]:
    flows = (old.airflow_m3_s, new.airflow_m3_s)
    hourly = [finite(flow * SECONDS_AN_HOUR, 1) for flow in flows]
    cfm = [finite(heat.cfm_from_m3_s(flow), 1) for flow in flows]
    yield "airflow", "m3/h", hourly[0], hourly[1]
    yield "airflow", "cfm", cfm[0], cfm[1]


def _in_the_room(balance: Balance) -> Iterator[FigureEntry]:
    """Say at each place that is loud, today or then, how long a day one may stay there by each limit."""
    room, (before_dba, after_dba) = balance.room, balance.inside_dba
    for name in before_dba:
        old, new = before_dba[name], after_dba[name]
        if max(old, new) < exposure.LOUD_DBA:
            continue
        doubts = [assumed.level_assumed(room.site, book, name) for book in (room.before, room.after)]
        place = f"the room, {name}"
        yield FigureEntry("level, loudest season", place, "dBA", finite(old, 1), finite(new, 1), *doubts)
        for limit, (criterion_dba, *_) in exposure.EXPOSURE_LIMITS.items():
            old_min, new_min = (int(60.0 * exposure.allowed_hours(each, limit)) for each in (old, new))
            what = f"longest stay, {limit} ({criterion_dba:g} dBA for 8 h)"
            yield FigureEntry(what, place, "min a day", old_min, new_min, *doubts)


def _space(balance: Balance) -> Iterator[FigureEntry]:
    site, before, after = balance.site, balance.before, balance.after
    most = None if site.room.rack_u is None else float(site.room.rack_u)
    yield FigureEntry(
        "rack units", "site", "U", float(before.rack_u), float(after.rack_u), False, False, most
    )
    for circuit in site.supply.circuits:
        loads = finite(before.circuits_w[circuit.name], 1), finite(after.circuits_w[circuit.name], 1)
        most = round(circuit.continuous_w, 1)
        yield FigureEntry("circuit load", circuit.name, "W", *loads, *balance.power_doubts, most)


def saved_entries(balance: Balance) -> tuple[SavedEntry, ...]:
    """Compute what placing anew saves, what measures and cooling save on top, and both together."""
    books = (balance.before, balance.placed, balance.after)
    return (
        _saved(CONSOLIDATION, balance.site, books[0], books[1]),
        _saved(MEASURES_AND_COOLING, balance.site, books[1], books[2]),
        _saved(TOGETHER, balance.site, books[0], books[2]),
    )


def _saved(stage: str, site: Site, old: Ledger, new: Ledger) -> SavedEntry:
    drops = tuple((item.name, _drop(old, new, item.name)) for item in site.listeners)
    return SavedEntry(
        stage=stage,
        level_drop_db=drops,
        power_w=round(old.mean_power_w - new.mean_power_w, 1),
        heat_w=round(_greatest_heat_w(old.seasons) - _greatest_heat_w(new.seasons), 1),
        kwh_a_year=round(old.kwh_a_year - new.kwh_a_year, 1),
        money_a_year=round(old.money_a_year - new.money_a_year, 1),
    )


def _drop(old: Ledger, new: Ledger, listener: str) -> float | None:
    before, after = old.levels_dba[listener], new.levels_dba[listener]
    if not (math.isfinite(before) and math.isfinite(after)):
        return None
    return finite(before - after, 1)


def _greatest_heat_w(seasons: Sequence[SeasonLedger]) -> float:
    return max((entry.heat_w for entry in seasons), default=0.0)


def payback(balance: Balance) -> Payback:
    """Set money and work against the electricity saved in a year."""
    site, state = balance.site, balance.after_state
    money = outlay(site, state)
    hours = math.fsum(line.hours for line in purchases(site, state))
    labour = hours * site.policy.labour_per_hour
    saved = balance.before.money_a_year - balance.after.money_a_year
    total = money + labour
    return Payback(
        outlay=round(money, 2),
        hours=round(hours, 2),
        labour=round(labour, 2),
        total=round(total, 2),
        money_saved_a_year=round(saved, 1),
        years=finite(power.payback_years(total, saved), 1),
        assumed=any(balance.mean_doubts),
    )
