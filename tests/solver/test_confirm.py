"""The second road to a proof: dual prices, CBC, and HiGHS without presolve, against every point."""

from __future__ import annotations

import numpy as np
import pytest

from planner.solver import Limits
from planner.solver.confirm import Claim, Road, confirm, keeps_rows
from planner.solver.duality import dual_bound, proves_empty
from planner.solver.silent import SilentHighs
from planner.solver.standard_form import StandardForm, form_of, form_of_highs
from tests.solver.programmes import drawn, least

PROGRAMMES = 120


def _form(seed: int) -> tuple[StandardForm, float | None]:
    program, objective = drawn(seed)
    return form_of(program.variables, objective, program.rows), least(program, objective)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, PROGRAMMES, 40))
def test_claims_are_shown_exactly_where_they_are_true(first: int) -> None:
    """Of the least value of all points: nothing under it is shown, and the value itself is refuted."""
    for seed in range(first, first + 40):
        form, expected = _form(seed)
        for solver in ("highs", "cbc"):
            if expected is None:
                assert confirm(Claim(form, solver=solver), Limits()).shown_by is not None, seed
                continue
            under = confirm(Claim(form, expected - 0.01, solver), Limits())
            assert under.shown_by is not None, seed
            point = confirm(Claim(form, expected + 1e-6, solver), Limits()).refuted_by
            assert point is not None, seed
            assert form.value_at(np.round(point)) == pytest.approx(expected, abs=1e-9), seed


@pytest.mark.slow
def test_every_road_is_gone() -> None:
    """Among these claims some are shown by prices alone, some by the other solver, some without presolve."""
    roads = set()
    for seed in range(PROGRAMMES):
        form, expected = _form(seed)
        for solver in ("highs", "cbc"):
            below = np.inf if expected is None else expected - 0.01
            roads.add(confirm(Claim(form, below, solver), Limits()).shown_by)
    assert roads == set(Road)


def test_without_time_a_claim_stays_open() -> None:
    """A claim for which there is no time is neither shown nor refuted, unless its prices show it."""
    form, expected = _form(7)
    assert expected is not None
    assert confirm(Claim(form, expected - 0.01), Limits(time_s=0.0)).refuted_by is None
    assert confirm(Claim(form, expected + 1e-6), Limits(time_s=0.0)).is_open


def test_dual_values_never_prove_too_much() -> None:
    """Random dual values prove a bound that no point is under (weak duality), and no ray empties a form."""
    rng, tightest = np.random.default_rng(5), 0.0
    for seed in range(PROGRAMMES):
        form, expected = _form(seed)
        for _ in range(20):
            duals = rng.normal(size=len(form.row_lower)) * rng.choice((0.1, 1.0, 5.0))
            if expected is not None:
                assert dual_bound(form, duals) <= expected
                assert not proves_empty(form, duals)
                tightest = max(tightest, dual_bound(form, duals) - expected)
    assert tightest <= 0.0


def test_farkas_multipliers_of_two_rows_that_contradict() -> None:
    """x + y <= 1 and x + y >= 2 have no point: the rows with multipliers -1 and 1 add up to 0 >= 1."""
    form = StandardForm(
        cost=np.zeros(2),
        offset=0.0,
        lower=np.zeros(2),
        upper=np.full(2, 5.0),
        whole=np.ones(2, bool),
        starts=np.array([0, 2, 4], np.int32),
        places=np.array([0, 1, 0, 1], np.int32),
        factors=np.ones(4),
        row_lower=np.array([-np.inf, 2.0]),
        row_upper=np.array([1.0, np.inf]),
    )
    assert proves_empty(form, np.array([-1.0, 1.0]))
    assert not proves_empty(form, np.array([1.0, 1.0]))
    assert confirm(Claim(form), Limits()).shown_by is Road.PRICES


def test_a_dual_bound_by_hand() -> None:
    """Minimise 2x + 3y with x + y >= 4, both from 0 to 10: the price 2 proves 8, which x = 4 is."""
    form = StandardForm(
        cost=np.array([2.0, 3.0]),
        offset=0.0,
        lower=np.zeros(2),
        upper=np.full(2, 10.0),
        whole=np.zeros(2, bool),
        starts=np.array([0, 2], np.int32),
        places=np.array([0, 1], np.int32),
        factors=np.ones(2),
        row_lower=np.array([4.0]),
        row_upper=np.array([np.inf]),
    )
    assert dual_bound(form, np.array([2.0])) == pytest.approx(8.0)
    assert dual_bound(form, np.array([3.0])) == pytest.approx(2.0)
    assert dual_bound(form, np.array([-1.0])) == 0.0


def test_forms_come_back_from_highs_alike() -> None:
    """A form given to HiGHS and read back has the same rows, also after a column was added to it."""
    rng = np.random.default_rng(3)
    for seed in range(30):
        form, _ = _form(seed)
        solver, count = SilentHighs(), len(form.cost)
        solver.passModel(form.as_highs())
        same = form_of_highs(solver.getLp())
        solver.addCol(4.0, 0.0, 1.0, 1, np.array([0], np.int32), np.array([2.0]))
        solver.run()
        more = form_of_highs(solver.getLp())
        point = rng.normal(size=count)
        assert same.rows_at(point) == pytest.approx(form.rows_at(point))
        assert same.value_at(point) == pytest.approx(form.value_at(point))
        assert same.whole.tolist() == form.whole.tolist()
        longer = np.append(point, 1.0)
        assert more.value_at(longer) == pytest.approx(form.value_at(point) + 4.0)
        assert more.rows_at(longer)[0] == pytest.approx(form.rows_at(point)[0] + 2.0)
        assert more.rows_at(longer)[1:] == pytest.approx(form.rows_at(point)[1:])


def test_a_point_that_breaks_a_row_is_no_refutation() -> None:
    """Points keep rows only within rounding of what the rows add up to."""
    form, _ = _form(0)
    found = confirm(Claim(form, 1e6), Limits()).refuted_by
    assert found is not None
    assert keeps_rows(form, found)
    assert not keeps_rows(form.at_most(form.value_at(found) - 0.1), found)
    assert not keeps_rows(form, np.full(len(form.cost), 99.0))
