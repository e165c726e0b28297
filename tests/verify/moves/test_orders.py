"""The judge passes a good order and catches every broken one by its rule."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from planner.domain.order import figures_of
from planner.domain.rules import Recurring, Windows
from planner.ledger import ledger
from planner.verify import Walked, verify_order
from tests.verify.broken_orders import BROKEN_ORDERS, GOOD, TARGET, BrokenOrder, order
from tests.verify.clinic import SITE, with_service


def _name(case: BrokenOrder) -> str:
    return f"{case.rule}: {case.says}"


def test_a_good_order_breaks_no_rule() -> None:
    assert verify_order(SITE, TARGET, GOOD) == ()


def test_an_order_without_dates_breaks_no_rule() -> None:
    undated = tuple(replace(wave, start=None, end=None) for wave in GOOD.waves)
    assert verify_order(SITE, TARGET, replace(GOOD, waves=undated)) == ()


@pytest.mark.parametrize("case", BROKEN_ORDERS, ids=_name)
def test_a_broken_order_is_caught_by_its_rule(case: BrokenOrder) -> None:
    found = verify_order(case.site, case.target, case.order)
    assert any(breach.rule == case.rule and case.says in breach.message for breach in found), found
    if case.alone:
        assert {breach.rule for breach in found} == {case.rule}


def test_every_rule_of_the_walk_has_a_broken_order() -> None:
    assert {case.rule for case in BROKEN_ORDERS} == set(Walked)


def test_a_wave_that_stands_is_not_asked_after_its_window() -> None:
    first = GOOD.waves[0]
    assert first.start is not None
    moved = replace(first, start=first.start - timedelta(days=2), end=first.start - timedelta(days=1))
    assert verify_order(SITE, TARGET, order(moved)) != ()
    assert verify_order(SITE, TARGET, order(replace(moved, is_past=True))) == ()


def test_what_stands_is_not_blamed_for_what_was_asked_later() -> None:
    # mail was down for 30 min in the wave that is done; that it may be down for 20 only is said afterwards
    site = with_service("mail", downtime_min=20.0)
    site = replace(site, policy=replace(site.policy, monthly_budget=1000.0))
    done = [replace(wave, is_past=True) for wave in GOOD.waves[:2]]
    assert {breach.rule for breach in verify_order(site, TARGET, GOOD)} == {Walked.DOWNTIME, Walked.MONEY}
    assert verify_order(site, TARGET, order(*done)) == ()


def test_figures_on_paper_may_be_rounded_to_a_decimal() -> None:
    true = figures_of(ledger(SITE, TARGET), 2)
    levels = {name: round(level, 1) for name, level in true.levels_dba.items()}
    rounded = replace(true, levels_dba=levels, power_w=round(true.power_w, 1))
    assert verify_order(SITE, TARGET, order(replace(GOOD.waves[-1], figures=rounded))) == ()


def test_a_replica_is_down_for_the_switch_alone() -> None:
    # 100 GB copied while it is stopped take 15 min more than the 15 min that a replica is down
    site = with_service("mail", downtime_min=20.0, method="replicate")
    assert verify_order(SITE, TARGET, GOOD) == verify_order(site, TARGET, GOOD) == ()


def test_days_of_rollback_are_hours_that_pass() -> None:
    # On 31 October 2027 the clock of Vienna goes back an hour: 7 days after Saturday 14:00 it shows 13:00.
    vienna = ZoneInfo("Europe/Vienna")
    site = replace(
        SITE, windows=Windows("Europe/Vienna", (Recurring(5, time(8), 6.0), Recurring(5, time(13), 6.0)))
    )
    days = [(10, 16, 8), (10, 23, 8), (10, 30, 8), (11, 6, 13)]
    starts = [datetime(2027, month, day, hour, tzinfo=vienna) for month, day, hour in days]
    waves = [
        replace(wave, start=start, end=start + timedelta(hours=6))
        for wave, start in zip(GOOD.waves, starts, strict=True)
    ]
    assert verify_order(site, TARGET, replace(GOOD, waves=tuple(waves))) == ()
    early = replace(waves[-1], start=starts[-1] - timedelta(minutes=1))
    found = verify_order(site, TARGET, replace(GOOD, waves=(*waves[:-1], early)))
    assert Walked.WAY_BACK in {breach.rule for breach in found}
