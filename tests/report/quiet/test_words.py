"""What the quieting page says of ladder and set beside each other."""

from __future__ import annotations

from dataclasses import replace

from planner.domain.site import Site
from planner.domain.state import state_today
from planner.placement.result import Options
from planner.placement.solve import solve
from planner.quieting import quieting
from planner.report.quiet.build import quiet_page
from planner.report.quiet.page import QuietPage
from planner.report.quiet.text import comparison
from tests.quieting.sites import bare_site, fans, gear, greedy_loses


def _page(site: Site) -> QuietPage:
    return quiet_page(
        quieting(site, state_today(site), Options(time_s=30.0), solve=solve), "machines as they are today"
    )


def _words(page: QuietPage) -> str:
    return " ".join(comparison(page))


def test_what_greed_costs_is_said_in_money_and_percent() -> None:
    """80 against 60."""
    words = _words(_page(greedy_loses()))
    assert "The ladder costs 20 EUR more than the cheapest set as quiet, 33 % more" in words
    assert "proven" in words


def test_what_the_ladder_misses_is_said() -> None:
    """Three equal sources under a louder one: each alone changes under half a decibel, together they do."""
    sources = (gear("loud", 60.0), *(gear(f"low-{n}", 49.5) for n in range(4)))
    steps = tuple(fans(f"slow-{n}", f"low-{n}", 15.0, 10.0) for n in range(4))
    site = bare_site(sources, steps, 0.0)
    level = _page(site).levels_at_start[0].level_dba
    assert level is not None
    target = replace(site.listeners[0], target_dba=level - 1.0)
    page = _page(replace(site, listeners=(target,)))
    assert page.rungs == ()
    assert "The ladder ends 1.0 dB over the targets; the cheapest set, for 40 EUR, meets them." in _words(
        page
    )


def test_without_a_set_more_time_is_asked_for() -> None:
    """None is said to be cheaper where none was found."""
    page = replace(_page(greedy_loses()), best=None, equal=None, ladder_costs_more=None)
    assert "give --time more" in _words(page)
