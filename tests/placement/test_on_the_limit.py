"""A state that lies exactly on a limit keeps it: for the programme as for the ledger and the judge."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.ledger import today_ledger
from planner.placement import Options, solve
from planner.plan import Outcome
from planner.site import Aim, Listener, Site
from planner.state import state_today
from planner.verify import verify_state
from tests.sitegen import random_site

OVER_DB = 2.5
TARGET_DBA = 41.0


def only_today(seed: int) -> Site:
    """Give a random site in which nothing can be done: each service stays, nothing is bought or cooled."""
    site = random_site(seed, boxes=2, services=4, seasons=2)
    policy = replace(site.policy, inlet_limit_c=90.0)
    services = tuple(replace(item, stay_on=item.box, physical=None) for item in site.services)
    used = {item.box for item in services}
    boxes = tuple(replace(item, may_host=False) for item in site.boxes if item.name in used)
    return replace(
        site, policy=policy, services=services, boxes=boxes, kinds=(), measures=(), cooling=(), quorums=()
    )


def read_so_far_over(site: Site, over_db: float) -> Site:
    """Give a site whose listeners hear so many decibels over a whole target today, as a meter would say."""
    levels = today_ledger(site).levels_dba

    def read(item: Listener) -> Listener:
        reading = TARGET_DBA + over_db
        offset_db = reading - levels[item.name] + item.offset_db
        return replace(item, target_dba=TARGET_DBA, offset_db=offset_db, reading_dba=reading)

    return replace(site, listeners=tuple(map(read, site.listeners)))


@pytest.mark.parametrize("seed", range(12))
def test_a_level_on_a_step_of_half_a_decibel_is_reached_and_proven(seed: int) -> None:
    """Today is the only plan, and 2.5 dB over by what was read: 2.5 is reached, and no step less."""
    site = read_so_far_over(only_today(seed), OVER_DB)
    if verify_state(site, state_today(site)):
        site = replace(site, room=replace(site.room, rack_u=None), together=(), apart=())
    assert verify_state(site, state_today(site)) == ()
    result = solve(site, Options(time_s=30.0, aims=(Aim.SOUND, Aim.POWER)))
    assert result.outcome is Outcome.PROVEN
    assert result.plan is not None
    assert next(aim.value for aim in result.plan.aims) == pytest.approx(OVER_DB)
