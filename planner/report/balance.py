"""Before against after: levels, watts, heat, air, energy, money, space, circuits, and what saves what."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from planner.ledger import Ledger, SeasonLedger, ledger, today_ledger
from planner.physics import heat
from planner.plan import outlay, purchases
from planner.report import assumed
from planner.report.figures import finite
from planner.report.page import FigureEntry, ListenerEntry, Payback, SavedEntry
from planner.site import Listener, Site
from planner.state import State, state_today

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


def listener_entries(balance: Balance) -> tuple[ListenerEntry, ...]:
    """Give each listener's level before and after, its leading source, and whether the target is met."""
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
        met=None if target is None else after.levels_dba[name] <= target + 1e-6,
        background_dba=listener.background_dba,
        assumed=any(assumed.level_assumed(balance.site, book, name) for book in (before, after)),
    )


def figure_entries(balance: Balance) -> tuple[FigureEntry, ...]:
    """Give every other figure of the ledger before and after."""
    return (*_yearly(balance), *_seasonal(balance), *_space(balance))


def _yearly(balance: Balance) -> Iterator[FigureEntry]:
    guessed = _power_assumed(balance)
    before, after = balance.before, balance.after
    pairs = (
        ("power, mean of the year", "W", before.mean_power_w, after.mean_power_w),
        ("energy a year", "kWh", before.kwh_a_year, after.kwh_a_year),
        ("electricity a year", balance.site.currency, before.money_a_year, after.money_a_year),
    )
    for name, unit, old, new in pairs:
        yield FigureEntry(name, "site", unit, finite(old, 1), finite(new, 1), guessed)


def _power_assumed(balance: Balance) -> bool:
    states = (balance.before_state, balance.after_state)
    return any(assumed.power_assumed(balance.site, state) for state in states)


def _seasonal(balance: Balance) -> Iterator[FigureEntry]:
    guessed = _power_assumed(balance)
    air_guessed = any(
        assumed.climate_assumed(balance.site, state) for state in (balance.before_state, balance.after_state)
    )
    limit = balance.site.policy.inlet_limit_c
    for old, new in zip(balance.before.seasons, balance.after.seasons, strict=True):
        yield _pair("power with all running", old, new, "W", old.power_w, new.power_w, guessed)
        yield _pair("heat into the room", old, new, "W", old.heat_w, new.heat_w, guessed)
        yield _pair("heat into the room", old, new, "BTU/h", old.heat_btu_h, new.heat_btu_h, guessed)
        moved = (old.airflow_m3_s * SECONDS_AN_HOUR, new.airflow_m3_s * SECONDS_AN_HOUR)
        yield _pair("airflow", old, new, "m3/h", *moved, air_guessed)
        cfm = (heat.cfm_from_m3_s(old.airflow_m3_s), heat.cfm_from_m3_s(new.airflow_m3_s))
        yield _pair("airflow", old, new, "cfm", *cfm, air_guessed)
        temperatures = (old.temperature_c, new.temperature_c)
        yield _pair("room temperature", old, new, "°C", *temperatures, air_guessed, limit)


def _pair(
    figure: str,
    old: SeasonLedger,
    new: SeasonLedger,
    unit: str,
    before: float,
    after: float,
    guessed: bool,
    limit: float | None = None,
) -> FigureEntry:
    assert old.season == new.season
    return FigureEntry(figure, old.season, unit, finite(before, 1), finite(after, 1), guessed, limit)


def _space(balance: Balance) -> Iterator[FigureEntry]:
    site, before, after = balance.site, balance.before, balance.after
    limit = None if site.room.rack_u is None else float(site.room.rack_u)
    yield FigureEntry("rack units", "site", "U", float(before.rack_u), float(after.rack_u), False, limit)
    guessed = _power_assumed(balance)
    for circuit in site.supply.circuits:
        old, new = before.circuits_w[circuit.name], after.circuits_w[circuit.name]
        limit = round(circuit.continuous_w, 1)
        yield FigureEntry("circuit load", circuit.name, "W", finite(old, 1), finite(new, 1), guessed, limit)


def saved_entries(balance: Balance) -> tuple[SavedEntry, ...]:
    """Give what placing anew saves, what measures and cooling save on top, and both together."""
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
    years = None if saved <= 0.0 and total > 0.0 else (total / saved if total > 0.0 else 0.0)
    return Payback(
        outlay=round(money, 2),
        hours=round(hours, 2),
        labour=round(labour, 2),
        total=round(total, 2),
        money_saved_a_year=round(saved, 1),
        years=finite(years, 1),
        assumed=_power_assumed(balance),
    )
