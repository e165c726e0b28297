"""The level for whoever is in the room, how long one may bear it, and where that is said."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from planner.domain.plan import Plan
from planner.domain.site import Site
from planner.domain.state import state_today
from planner.inventory.loaded import Loaded
from planner.ledger import today_ledger
from planner.ledger.stay import levels_in_room, louder
from planner.report.check.page import page_of_site
from planner.report.plan.build import plan_page
from tests.kit.sites import plain_site
from tests.report.examples import plain_plan

CLOSER_DB = 10.0 * math.log10((2 / (4 * math.pi) + 4 / 14.75) / (2 / (4 * math.pi * 4) + 4 / 14.75))
"""The room has 59 m2 at 0.2, R = 59 x 0.2 / 0.8 = 14.75 m2: 1 m against 2 m from the machines is 1.41 dB."""


def without_a_listener_inside() -> Site:
    """Make the plain site with nobody in its room."""
    site = plain_site()
    return replace(site, listeners=tuple(item for item in site.listeners if item.partition is not None))


def loud(level_dba: float) -> Site:
    """Make the plain site so loud today that a reading at its desk is a level."""
    site = plain_site()
    offset_db = level_dba - today_ledger(site).levels_dba["desk"]
    desk, *others = site.listeners
    return replace(site, listeners=(replace(desk, offset_db=offset_db), *others))


def test_without_a_listener_inside_somebody_stands_by_the_machines() -> None:
    """1 m away, where the desk is 2 m away; who listens next door is not in the room."""
    site, bare = plain_site(), without_a_listener_inside()
    desk_dba = today_ledger(site).levels_dba["desk"]
    inside = levels_in_room(bare, state_today(bare), today_ledger(bare))
    assert pytest.approx(1.41, abs=0.005) == CLOSER_DB
    assert dict(inside) == {"1 m from the machines": pytest.approx(desk_dba + CLOSER_DB)}
    assert dict(levels_in_room(site, state_today(site), today_ledger(site))) == {"desk": desk_dba}


def test_a_season_that_need_not_be_quiet_counts_too() -> None:
    """Targets look at quiet seasons only; ears are there all year."""
    site = plain_site()
    fast = tuple(
        replace(
            box, spec=replace(box.spec, sound=replace(box.spec.sound, inlet_steps=((22.0, 0.0), (40.0, 9.0))))
        )
        for box in site.boxes
    )
    summer, winter = site.seasons
    site = replace(site, boxes=fast, seasons=(replace(summer, quiet=False), winter))
    book = today_ledger(site)
    assert levels_in_room(site, state_today(site), book)["desk"] == book.season("summer").levels_dba["desk"]
    assert book.season("summer").levels_dba["desk"] >= book.levels_dba["desk"]


def test_the_louder_of_two() -> None:
    """Place by place."""
    assert dict(louder({"a": 70.0, "b": 60.0}, {"a": 65.0, "b": 80.0})) == {"a": 70.0, "b": 80.0}


def test_check_says_how_long_one_may_stay() -> None:
    """86 dBA: NIOSH 480 / 2**(1/3) = 380.98, OSHA 480 x 2**(4/5) = 835.7 min. Silent under 80 dBA."""
    (said,) = page_of_site("a.yaml", Loaded(loud(86.0), (), ())).warnings
    assert "in the room, desk, it is 86 dBA today" in said.message
    assert "380 min by NIOSH (85 dBA for 8 h) and 835 min by OSHA (90 dBA for 8 h)" in said.message
    assert "wear protectors" in said.repair
    assert "Local rules come first" in said.repair
    assert not page_of_site("a.yaml", Loaded(loud(79.9), (), ())).warnings


def test_the_plan_sets_the_stay_of_today_beside_that_of_then() -> None:
    """Today 86 dBA; then quieter by as much as the plan quiets the desk, and all day at 80 dBA or less."""
    _, plan = plain_plan()
    page = plan_page(loud(86.0), plan)
    rows = {item.figure: item for item in page.figures if item.of == "the room, desk"}
    niosh = rows["longest stay, NIOSH (85 dBA for 8 h)"]
    level = rows["level, loudest season"]
    assert (level.before, niosh.before, niosh.unit) == (86.0, 380, "min a day")
    assert level.after is not None
    assert niosh.after == pytest.approx(min(1440.0, 480.0 * 2.0 ** ((85.0 - level.after) / 3.0)), abs=6.0)
    assert rows["longest stay, OSHA (90 dBA for 8 h)"].before == 835
    assert [entry.because for entry in page.cautions if entry.hazard == "hearing"] == [("desk",)]


def test_a_quiet_room_has_no_such_rows() -> None:
    """Neither figures nor the caution under 80 dBA, today and then."""
    site = loud(79.0)
    page = plan_page(site, Plan(state_today(site), plain_plan()[1].aims, plain_plan()[1].outcome))
    assert not [item for item in page.figures if item.of.startswith("the room")]
    assert not [entry for entry in page.cautions if entry.hazard == "hearing"]
