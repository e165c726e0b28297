"""The judge's own values of the aims, by hand and against the planner's."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.domain.machines import Role
from planner.domain.plan import aim_value, sound_value
from planner.domain.rules import Aim
from planner.verify.plan.aims import value_of
from planner.verify.trial import Trial
from tests.kit.sites import random_site
from tests.kit.states import random_state
from tests.verify.clinic import SITE, TODAY, box, folded, unit


@pytest.mark.parametrize("aim", list(Aim))
@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_judge_and_planner_agree_on_every_aim(aim: Aim, seed: int) -> None:
    site = random_site(seed)
    state = random_state(site, seed)
    trial = Trial(site, state)
    assert value_of(trial, aim) == pytest.approx(aim_value(site, state, trial.book, aim), rel=1e-9)


def test_cost_is_money_and_hours() -> None:
    # host 1500 + appliance 400 + alder re-used 100 + panels 250 + door fan 200; (4 + 1 + 0 + 2 + 4) h x 50
    state = folded(
        box("alder", Role.HOST, "records-db"),
        unit("quiet-host", 1, "mail"),
        unit("small-appliance", 1, "files"),
        measures=["wall-panels"],
        cooling={"summer": frozenset({"split-unit"}), "winter": frozenset({"door-fan"})},
    )
    assert value_of(Trial(SITE, state), Aim.COST) == 1500.0 + 400.0 + 100.0 + 250.0 + 200.0 + 11.0 * 50.0


def test_changes_are_counted_one_by_one() -> None:
    # moved: records-db becomes a guest, mail and files move: 3; got: alder re-used, host, panels: 3;
    # off: birch: 1; cooling: split unit off in winter: 1
    state = folded(
        box("alder", Role.HOST, "records-db"),
        unit("quiet-host", 1, "mail", "files"),
        measures=["wall-panels"],
    )
    assert value_of(Trial(SITE, state), Aim.CHANGE) == 3 + 3 + 1 + 1


def test_today_changes_nothing_and_costs_nothing() -> None:
    trial = Trial(SITE, TODAY)
    assert (value_of(trial, Aim.CHANGE), value_of(trial, Aim.COST)) == (0.0, 0.0)


def test_sound_is_in_half_decibels_over_the_targets() -> None:
    # today 63.75 dBA at the desk for 50 wanted and 36.34 dBA at the reception for 30 wanted (tests/ledger)
    assert value_of(Trial(SITE, TODAY), Aim.SOUND) == 14.0


def test_sound_is_the_loudest_listener_where_nobody_has_a_target() -> None:
    listeners = tuple(replace(item, target_dba=None) for item in SITE.listeners)
    assert value_of(Trial(replace(SITE, listeners=listeners), TODAY), Aim.SOUND) == 64.0


def test_a_target_that_is_met_is_met() -> None:
    listeners = tuple(replace(item, target_dba=90.0) for item in SITE.listeners)
    assert value_of(Trial(replace(SITE, listeners=listeners), TODAY), Aim.SOUND) == 0.0


def test_a_room_in_which_nothing_sounds_is_over_no_target() -> None:
    silence = dict.fromkeys(("desk", "reception"), -math.inf)
    assert sound_value(SITE, silence) == 0.0
