"""How sure, what is heard, and when something fails: as data, text and facts."""

from __future__ import annotations

import json
from dataclasses import replace

import jsonschema
import pytest

from planner.domain.site import Site
from planner.domain.state import State, state_today
from planner.ledger import ledger
from planner.report.common.text import paint
from planner.report.plan import conditions, json_file
from planner.report.plan.build import plan_page
from planner.report.plan.conditions_text import failure_words, hearing_words, inlet_words, power_words
from planner.report.plan.plain import plan_plain
from planner.report.plan.text import plan_lines
from planner.report.schemas import schema_of
from tests.kit.sites import plain_site
from tests.report.examples import plain_plan


def _case() -> tuple[Site, State]:
    site = plain_site()
    desk = replace(site.listeners[0], background_dba=36.0, use="meetings", confidence=0.9, reading_dba=60.0)
    return replace(site, listeners=(desk, site.listeners[1])), state_today(site)


def test_the_plan_page_with_them_keeps_its_schema() -> None:
    """JSON of a plan holds bands, NC, probabilities, failures, inlets and the UPS."""
    site, plan = plain_plan()
    data = json.loads(json.dumps(json_file.dump(site, plan)))
    jsonschema.Draft202012Validator(schema_of("plan")).validate(data)
    assert len(data["page"]["hearing"][0]["bands_db"]) == 8


def test_hearing_says_band_probability_reading_and_use() -> None:
    """One listener with everything."""
    site, state = _case()
    entry = conditions.hearing_entries(site, state, ledger(site, state))[0]
    words = " | ".join(hearing_words(entry))
    assert "in 9 of 10 such rooms" in words
    assert "90 % were asked for" in words
    assert "to today's reading" in words
    assert "NOT good enough for meeting ('meetings')" in words
    assert "(classic curves)" in words
    assert entry.low_dba is not None
    assert entry.high_dba is not None
    assert entry.low_dba < entry.high_dba


def test_an_assumed_level_is_marked_in_text_facts_and_data() -> None:
    """Nothing that rests on a class is printed as if it were measured."""
    site, plan = plain_plan()
    guessed = tuple(
        replace(item, spec=replace(item.spec, sound=replace(item.spec.sound, origin="assumed")))
        for item in site.kinds
    )
    loud = replace(site, kinds=guessed, cooling=site.cooling[:1], gear=())
    state = State(plan.state.machines[:1], cooling={"summer": frozenset(), "winter": frozenset()})
    loud = replace(loud, measures=())
    entry = conditions.hearing_entries(loud, state, ledger(loud, state))[0]
    assert entry.assumed
    assert "dBA*" in next(iter(hearing_words(entry)))


def test_failures_inlets_and_power_have_their_words() -> None:
    """Times as a span, limits by name, starts one after the other."""
    site, state = _case()
    site = replace(site, supply=replace(site.supply, ups_wh=500.0))
    book = ledger(site, state)
    failing = conditions.failure_entries(site, state, book)[0]
    assert failing.assumed
    assert "°C" in failure_words(failing)
    assert "as recommended" in inlet_words(conditions.inlet_entries(site, book)[0])
    note = conditions.power_note(site, state)
    # birch 80 + 80 x 0.5 x 1.1 / 4 W and core-switch 40 W behind the UPS of 80 %
    assert note.ups_load_w == pytest.approx(80.0 + 11.0 + 40.0)
    assert note.ups_minutes == pytest.approx(500.0 * 0.8 / 131.0 * 60.0, abs=0.1)
    assert any("one after the other" in words for words in power_words(note))


def test_humid_air_is_told() -> None:
    """A dew point of 18 °C is over the recommended 15 °C and allowed for A2 (ASHRAE TC 9.9, 2021)."""
    site, state = _case()
    damp = replace(site, seasons=(replace(site.seasons[0], dew_point_c=18.0), site.seasons[1]))
    words = inlet_words(conditions.inlet_entries(damp, ledger(damp, state))[0])
    assert "dew point 18" in words
    assert "allowed for A2" in words
    assert "(recommended)" in words


def test_text_and_facts_hold_the_sections() -> None:
    """Both faces show them."""
    site, plan = plain_plan()
    page = plan_page(site, plan)
    assert "How sure that is" in paint(plan_lines(page), colour=False)
    assert "cooling fails in summer" in paint(plan_plain(page), colour=False)
