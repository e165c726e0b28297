"""How sure a level is: sampled figures against two-moment sums, closed forms and what must always hold."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.domain.machines import Role
from planner.domain.site import Site
from planner.domain.sound import Listener, Sound
from planner.domain.state import Machine, State, state_today
from planner.ledger import ledger
from planner.ledger.certainty import (
    Part,
    certainty,
    held_levels_dba,
    kept_dba,
    parts_at,
    room_sigma_db,
    sampled_dba,
    sigma_of,
)
from tests.kit.sites import plain_site, random_site
from tests.kit.states import random_state

NEPER_DB = 10.0 / math.log(10.0)
NORMAL = NormalDist()


def _two_moments(parts: Sequence[Part], room_db: float) -> tuple[float, float]:
    """Compute median and standard deviation of a sum of log-normal energies (Fenton 1960, Wilkinson)."""
    squares = [(part.sigma_db / NEPER_DB) ** 2 for part in parts]
    means = [part.energy * math.exp(square / 2.0) for part, square in zip(parts, squares, strict=True)]
    total = sum(means)
    spread = sum(
        (mean / total) ** 2 * math.expm1(square) for mean, square in zip(means, squares, strict=True)
    )
    variance = math.log1p(spread)
    return NEPER_DB * (math.log(total) - variance / 2.0), math.hypot(NEPER_DB * math.sqrt(variance), room_db)


PARTS = st.lists(st.builds(Part, st.floats(1.0, 1e4), st.floats(0.0, 3.5)), min_size=1, max_size=12)


@pytest.mark.slow
@settings(max_examples=60, deadline=None)
@given(PARTS, st.sampled_from((1.0, 2.5)), st.sampled_from((0.1, 0.5, 0.9, 0.95)))
def test_sampling_agrees_with_the_two_moment_sum(parts: list[Part], room_db: float, share: float) -> None:
    """Within 0.8 dB (the two moments know no skew), up to ±7 dB a source; the mean energy within 5 %."""
    median, sigma = _two_moments(parts, room_db)
    expected = median + NORMAL.inv_cdf(share) * sigma
    assert kept_dba(sampled_dba(parts, room_db), share) == pytest.approx(expected, abs=0.8)
    exact = sum(part.energy * math.exp((part.sigma_db / NEPER_DB) ** 2 / 2.0) for part in parts)
    assert float(np.mean(10.0 ** (sampled_dba(parts, 0.0) / 10.0))) == pytest.approx(exact, rel=0.05)


def test_one_source_has_the_closed_form() -> None:
    """50 dBA with ±4 dB (two sigma) in a room of ±5 dB: sigma is the root of 2² + 2.5² = 3.2 dB."""
    levels = sampled_dba((Part(1e5, 2.0),), 2.5)
    assert float(np.std(levels)) == pytest.approx(math.hypot(2.0, 2.5), abs=0.05)
    assert kept_dba(levels, 0.9) == pytest.approx(50.0 + 1.2816 * math.hypot(2.0, 2.5), abs=0.1)


def test_many_equal_sources_are_surer_than_one() -> None:
    """Sixteen independent ±6 dB sources vary by about a quarter of what one does."""
    one = np.std(sampled_dba((Part(16.0, 3.0),), 0.0))
    many = np.std(sampled_dba((Part(1.0, 3.0),) * 16, 0.0))
    assert many < 0.35 * one


def test_a_declared_plus_minus_is_two_sigma_and_a_class_range_is_uniform() -> None:
    """±3 dB declared: 1.5 dB; a class of ±6 dB, equally likely throughout: 6 / sqrt(3) = 3.46 dB."""
    flat = (50.0,) * 8
    assert sigma_of(Sound(flat, flat, "declared", 3.0)) == pytest.approx(1.5)
    assert sigma_of(Sound(flat, flat, "assumed", 6.0)) == pytest.approx(3.4641, abs=1e-4)


def test_a_reading_makes_the_room_surer() -> None:
    """±5 dB without one (handbook practice), ±2 dB with one."""
    assert room_sigma_db(Listener("desk", 40.0)) == pytest.approx(2.5)
    assert room_sigma_db(Listener("desk", 40.0, reading_dba=52.0)) == pytest.approx(1.0)


def test_units_of_one_kind_err_together() -> None:
    """Two units with one declaration are one part, not two independent ones."""
    site = plain_site()
    units = tuple(Machine(f"quiet-host-{n}", Role.HOST, "circuit-a", (), kind="quiet-host") for n in (1, 2))
    state = State(units, cooling={"summer": frozenset({"split-unit"}), "winter": frozenset({"split-unit"})})
    book = ledger(site, state)
    parts = parts_at(site, state, book.seasons[0], site.listeners[0])
    # two units as one, two switches, one split unit
    assert len(parts) == 4


@pytest.mark.slow
@settings(max_examples=40, deadline=None)
@given(st.integers(0, 2000))
def test_the_band_holds_the_level_and_surer_is_louder(seed: int) -> None:
    """Low lies under high; the held level rises with the confidence; a higher target is surer."""
    site = random_site(seed, listeners=1)
    state = random_state(site, seed)
    book = ledger(site, state)
    listener = replace(site.listeners[0], target_dba=45.0)
    found = certainty(site, state, book, listener)
    assert found.low_dba <= found.high_dba
    held = [certainty(site, state, book, replace(listener, confidence=p)).held_dba for p in (0.5, 0.8, 0.95)]
    assert held == sorted(held)
    easier = certainty(site, state, book, replace(listener, target_dba=50.0))
    assert (easier.probability or 0.0) >= (found.probability or 0.0)


def test_without_a_confidence_the_foretold_level_is_held() -> None:
    """Nothing changes where nobody asks."""
    site = plain_site()
    book = ledger(site, state_today(site))
    assert held_levels_dba(site, state_today(site), book) == book.levels_dba


def test_the_same_site_gives_the_same_figures() -> None:
    """The seed is fixed."""
    site: Site = plain_site()
    state = state_today(site)
    book = ledger(site, state)
    first, second = (certainty(site, state, book, site.listeners[0]) for _ in range(2))
    assert first == second
