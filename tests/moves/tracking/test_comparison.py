"""Readings against what was foretold: bands, level arithmetic, and what would explain a difference."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.domain.site import Site
from planner.domain.state import State, state_today
from planner.ledger import ledger
from planner.moves.tasks.readings import Reading, latest
from planner.moves.tracking.comparison import Against, all_compared, compared
from planner.moves.tracking.diagnosis import suspects
from tests.kit.sites import plain_site, random_site
from tests.verify.clinic import SITE, TODAY, folded

AT = datetime(2027, 3, 13, 14, 0, tzinfo=UTC)
AFTER = folded()
SURE = replace(
    SITE,
    listeners=tuple(replace(item, reading_dba=60.0) for item in SITE.listeners),
    boxes=tuple(
        replace(box, spec=replace(box.spec, sound=replace(box.spec.sound, plus_minus_db=0.5)))
        for box in SITE.boxes
    ),
)
"""The plain site where today's level was read and the boxes' sounds are known to half a decibel."""


def reading(wave: int = 2, **figures: object) -> Reading:
    """Make a reading in summer."""
    bare = Reading(wave, ("hold: alder",), AT, season="summer")
    return replace(bare, **figures)  # type: ignore[arg-type]


def at_desk(level_dba: float, **more: object) -> Against:
    """Find what a level at the desk means once all is on the host."""
    read = replace(reading(levels_dba=(("desk", level_dba),)), **more)  # type: ignore[arg-type]
    return compared(SITE, AFTER, 2, read).figures[0]


def foretold(state: State = AFTER, site: Site = SITE) -> float:
    """Look up the level foretold at the desk in summer."""
    return ledger(site, state).season("summer").levels_dba["desk"]


def test_what_is_read_as_foretold_needs_no_search() -> None:
    """Within its band, and no word of anything else."""
    found = at_desk(foretold() + 0.5)
    assert found.is_within
    assert found.difference == pytest.approx(0.5)
    assert [word.split()[0] for word in found.words] == ["within"]


def test_a_louder_room_says_how_loud_one_more_source_would_be() -> None:
    """10 dB more than foretold: 9 of 10 parts of the energy are new, 10 lg 0.9 = -0.46 dB of the reading."""
    found = at_desk(foretold() + 10.0)
    assert not found.is_within
    alone = found.read + 10.0 * math.log10(0.9)
    assert f"would have to bring {alone:.1f} dBA there" in found.words[0]


def test_a_box_that_was_not_switched_off_is_suspected() -> None:
    """The room as loud, and drawing as much, as with alder still on: alder is named for both."""
    alder = replace(TODAY.machines[0], services=())
    truth = replace(AFTER, machines=(*AFTER.machines, alder))
    loud = ledger(SITE, truth).season("summer")
    read = reading(levels_dba=(("desk", loud.levels_dba["desk"]),), watts=loud.power_w)
    desk, draw = compared(SURE, AFTER, 2, read).figures
    for item in (desk, draw):
        assert not item.is_within
        assert "alder were still on" in item.words[1]


def test_a_measure_without_effect_is_suspected() -> None:
    """New fans that were never turned down leave the room as loud as without them."""
    state = replace(TODAY, measures=frozenset({"slow-fans"}))
    read = reading(levels_dba=(("desk", foretold(TODAY) + 1.0),))
    found = compared(SURE, state, 1, read).figures[0]
    assert not found.is_within
    assert "it would be so if slow-fans on alder had no effect" in found.words[1]


def test_the_background_is_added_to_what_is_foretold() -> None:
    """Two like levels are 3.01 dB more than one: a background as loud as the room explains 3 dB."""
    level = foretold()
    found = at_desk(level + 3.0, background_dba=level)
    assert found.foretold == pytest.approx(level + 10.0 * math.log10(2.0))
    assert found.is_within


def test_a_warm_room_says_how_much_heat_would_explain_it() -> None:
    """The clinic loses 50 W/K, its split unit takes 2500 W at most: 35 °C at 25 °C around it are 3000 W."""
    found = compared(SITE, AFTER, 2, reading(celsius=35.0)).figures[0]
    heat_w = ledger(SITE, AFTER).season("summer").heat_w
    assert found.words[0] == "over the limit of 27 °C: see to the cooling before anything else"
    assert f"{3000.0 - heat_w:.0f} W more heat in it would explain that" in found.words[1]
    assert "split-unit did not run" not in found.words[2]


def test_cooling_that_does_not_run_is_suspected() -> None:
    """Without the split unit all heat goes through the walls at 50 W/K."""
    heat_w = ledger(SITE, AFTER).season("summer").heat_w
    found = compared(SITE, AFTER, 2, reading(celsius=25.0 + heat_w / 50.0)).figures[0]
    assert "it would be so if split-unit did not run" in found.words[-1]


def test_the_temperature_around_the_room_counts() -> None:
    """In winter without cooling the room is as many kelvins warmer as what is around it."""
    cold, mild = (
        compared(SITE, AFTER, 4, reading(season="winter", celsius=20.0, around_c=around)).figures[0]
        for around in (10.0, 16.0)
    )
    assert mild.foretold - cold.foretold == pytest.approx(6.0)


def test_a_change_since_the_last_reading_is_told() -> None:
    """Differences are foretold better than levels: both stand side by side."""
    first, then = foretold(TODAY), foretold()
    readings = {
        0: reading(0, levels_dba=(("desk", first + 4.0),)),
        2: reading(levels_dba=(("desk", then + 3.5),)),
    }
    found = all_compared(SITE, {0: TODAY, 2: AFTER}, readings, AFTER)
    said = f"{then - first - 0.5:+.1f} dB, foretold {then - first:+.1f} dB"
    assert found[1].figures[0].words[-2] == f"since the reading before the first wave {said}"


def test_the_last_reading_says_where_the_level_ends() -> None:
    """4 dB over what was foretold today are 4 dB over it in the end, where the target is 50 dBA."""
    read = reading(1, levels_dba=(("desk", foretold(TODAY) + 4.0),))
    (found,) = all_compared(SITE, {1: TODAY}, {1: read}, AFTER)
    end = f"{foretold() + 4.0:.0f} dBA in the end, target 50"
    assert found.figures[0].words[-1] == f"if it stays so far from foretold, {end}"


def test_a_reading_of_a_wave_taken_back_counts_no_more() -> None:
    """Readings go with the tasks of a wave; figures read one after the other are one reading."""
    first = Reading(1, ("bring in: host-1",), AT, (("desk", 50.0),))
    more = replace(first, levels_dba=(), watts=700.0, note="clamp meter")
    other = Reading(2, ("move: mail",), AT, celsius=24.0)
    assert latest([first, more, other], [first.tasks]) == {1: replace(first, watts=700.0, note="clamp meter")}
    winter = replace(more, season="winter")
    assert latest([first, winter], [first.tasks]) == {1: winter}


@pytest.mark.slow
@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000))
def test_a_room_read_as_foretold_is_within_its_bands(seed: int) -> None:
    """On random sites, in every season: what the ledger says is inside all bands."""
    site = random_site(seed)
    state = state_today(site)
    for season in site.seasons:
        book = ledger(site, state).season(season.name)
        heard = tuple((name, level) for name, level in book.levels_dba.items() if math.isfinite(level))
        read = Reading(0, (), AT, heard, book.power_w, book.temperature_c, season.name)
        assert all(item.is_within for item in compared(site, state, 0, read).figures)


def test_every_suspect_changes_the_room() -> None:
    """Each is otherwise than planned in sound, watts or warmth; the plain site has all sorts of them."""
    state = replace(TODAY, measures=frozenset({"slow-fans", "wall-panels"}))
    calm = ledger(plain_site(), state).season("summer")
    found = suspects(plain_site(), state, "summer")
    assert {item.words for item in found} == {
        "slow-fans on alder had no effect",
        "wall-panels on room had no effect",
        "alder were off",
        "birch were off",
        "split-unit did not run",
    }
    for item in found:
        changed = (item.book.levels_dba, item.book.power_w, item.book.temperature_c)
        assert changed != (calm.levels_dba, calm.power_w, calm.temperature_c)
