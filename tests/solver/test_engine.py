"""How a programme is run: right answers, and endings that do not trust a solver's status word."""

from __future__ import annotations

import math
import threading

import numpy as np
import pulp
import pytest

from planner.domain.rules import Aim
from planner.placement.column_generation.columns import Columns
from planner.placement.formulation.question_model import Question, QuestionModel
from planner.placement.optimise.initial_plan import construct_plan
from planner.solver import Ending, Limits, Program, highs, relax, run
from planner.solver.silent import SilentHighs
from tests.kit.sites import tiny_site
from tests.solver.programmes import drawn, least, refused_by_presolve

PROGRAMMES = 240
CHUNK = 40


def _hard() -> tuple[Program, pulp.LpAffineExpression]:
    """Make a market-split programme: equalities of large random figures, hard even to fill."""
    program, rng = Program(), np.random.default_rng(7)
    chosen = [program.binary(f"x{index}") for index in range(50)]
    for number in range(6):
        figures = rng.integers(0, 100, size=len(chosen)).tolist()
        body = program.total(zip(chosen, (float(figure) for figure in figures), strict=True))
        program.row(f"split {number}", body == float(sum(figures) // 2))
    return program, program.total((variable, 1.0) for variable in chosen)


def _knapsack() -> tuple[Program, pulp.LpAffineExpression]:
    """Make a knapsack of 6 with the best value 18: the sizes 5 and 4 make 9 with values 10 and 8."""
    program = Program()
    sizes, values = (5.0, 4.0, 6.0, 3.0, 7.0, 9.0), (10.0, 8.0, 10.0, 4.0, 11.0, 15.0)
    taken = [program.binary(f"take {index}") for index in range(6)]
    program.row("room", program.total(zip(taken, sizes, strict=True)) <= 9.0)
    return program, program.total((v, -value) for v, value in zip(taken, values, strict=True))


@pytest.mark.slow
@pytest.mark.parametrize("solver", ["highs", "cbc"])
@pytest.mark.parametrize("first", range(0, PROGRAMMES, CHUNK))
def test_small_programmes_against_every_point(first: int, solver: str) -> None:
    """On 240 programmes of 6 to 8 whole variables the value is the least of all points, or there is none."""
    seeds = range(first, first + CHUNK) if solver == "highs" else range(first, first + CHUNK, 5)
    for seed in seeds:
        program, objective = drawn(seed)
        expected = least(program, objective)
        answer = run(program, objective, Limits(solver=solver))
        if expected is None:
            assert answer.ending is Ending.INFEASIBLE, seed
        else:
            assert answer.ending is Ending.PROVEN, seed
            assert answer.objective == pytest.approx(expected, abs=1e-9), seed
            assert answer.bound == pytest.approx(expected, abs=1e-5), seed


def test_the_programmes_are_not_all_alike() -> None:
    """Among the random programmes some have no point at all, and many have one."""
    empty = sum(least(*drawn(seed)) is None for seed in range(PROGRAMMES))
    assert 60 < empty < PROGRAMMES - 60


def test_a_cancelled_run_without_a_solution_is_not_proven() -> None:
    """A run that is interrupted before it has a solution is empty, whatever the solver's own word for it."""
    cancel = threading.Event()
    timer = threading.Timer(0.3, cancel.set)
    timer.start()
    program, objective = _hard()
    answer = run(program, objective, Limits(time_s=60.0), cancel=cancel)
    timer.join()
    assert answer.ending is Ending.EMPTY
    assert not answer.found
    assert answer.values == {}
    assert math.isinf(answer.objective)


@pytest.mark.slow
def test_a_run_cut_short_by_the_clock_is_not_proven() -> None:
    """A run that ends at its time limit without a solution is empty, with both solvers."""
    program, objective = _hard()
    for solver in ("highs", "cbc"):
        answer = run(program, objective, Limits(time_s=0.5, solver=solver))
        assert answer.ending is Ending.EMPTY, solver


def test_no_time_and_cancelled_before_are_empty() -> None:
    """Nothing is run without time, nor after a cancel."""
    program, objective = _knapsack()
    cancel = threading.Event()
    cancel.set()
    assert run(program, objective, Limits(time_s=0.0)).ending is Ending.EMPTY
    assert run(program, objective, Limits(), cancel=cancel).ending is Ending.EMPTY


def test_relaxed_first_then_whole_in_a_new_object() -> None:
    """Solved without and then with whole numbers, a programme keeps its own value and bound each time."""
    whole, objective = _knapsack()
    relaxed, twin = Program(), {}
    for variable in whole.variables:
        twin[variable.name] = relaxed.continuous(variable.name)
    for name, row in whole.rows.items():
        body = relaxed.total((twin[variable.name], factor) for variable, factor in row.items())
        relaxed.row(name, body + row.constant <= 0)
    aim = relaxed.total((twin[variable.name], factor) for variable, factor in objective.items())
    first = run(relaxed, aim, Limits())
    second = run(whole, objective, Limits())
    assert first.objective <= second.objective
    assert (second.ending, second.objective) == (Ending.PROVEN, -18.0)
    assert second.bound == pytest.approx(-18.0, abs=1e-6)


def test_the_objective_is_recomputed_from_rounded_values() -> None:
    """The objective is what the values given back add up to, and whole variables are whole."""
    program, objective = _knapsack()
    answer = run(program, objective, Limits())
    assert all(value == round(value) for value in answer.values.values())
    assert answer.objective == sum(c * answer.values[v.name] for v, c in objective.items())


def test_an_empty_objective_stays_empty() -> None:
    """A question without an objective is answered by both solvers and leaves the expression as it was."""
    program, _ = _knapsack()
    nothing = pulp.LpAffineExpression()
    for solver in ("highs", "cbc"):
        assert run(program, nothing, Limits(solver=solver)).ending is Ending.PROVEN
        assert len(nothing) == 0


@pytest.fixture
def tight(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make HiGHS hold tolerances under its defaults, with which its presolve errs."""
    usual = highs.highs_options
    tighter = {"mip_feasibility_tolerance": 1e-7, "primal_feasibility_tolerance": 1e-8}
    monkeypatch.setattr(highs, "highs_options", lambda limits: {**usual(limits), **tighter})


@pytest.mark.usefixtures("tight")
def test_presolve_alone_is_not_believed() -> None:
    """A programme that HiGHS 1.15.1 calls infeasible in presolve, although it has a point, is solved."""
    program, objective = refused_by_presolve()
    answer = run(program, objective, Limits())
    assert answer.ending is Ending.PROVEN
    assert answer.values[program.variables[0].name] == pytest.approx(1.0 / 6.0)


@pytest.mark.usefixtures("tight")
def test_what_is_proven_has_a_bound() -> None:
    """With a start at hand HiGHS calls the same programme optimal; its bound is there all the same."""
    program, objective = refused_by_presolve()
    start = {variable.name: 0.0 for variable in program.variables}
    start.update({program.variables[0].name: 0.166666666666667, program.variables[1].name: 0.55})
    answer = run(program, objective, Limits(), start=start)
    assert answer.ending is Ending.PROVEN
    assert answer.bound == pytest.approx(0.0)


def test_variables_of_like_names_stay_apart() -> None:
    """Names that the modelling layer would write alike are still different variables in the answer."""
    program = Program()
    likes = [program.binary(name) for name in ("mail-1", "mail_1", "mail 1")]
    program.row("two", program.total((v, 1.0) for v in likes) == 2)
    answer = run(program, program.total([(likes[0], 1.0)]), Limits())
    assert [answer.values[v.name] for v in likes] == [0.0, 1.0, 1.0]


def test_the_pinned_version_is_the_tested_one() -> None:
    """The solver is the version whose traps these tests know; each of its neighbours has worse ones.

    1.14.0 gave a wrong optimum on a small model, 1.16.0 calls a start optimal with another point's value.
    """
    assert SilentHighs().version() == "1.15.1"


def test_a_relaxation_made_whole_in_the_same_object_is_not_used() -> None:
    """1.16.0 gives a wrong bound where whole numbers are switched on in an object that solved without.

    Programmes that grow by columns hand their model to a new object for that; the value is the right one.
    """
    program, objective = _knapsack()
    columns = Columns(program, objective, program.rows, [])
    assert columns.relax() is not None
    answer, _ = columns.solve_integer(Limits(), 0.0)
    assert answer.objective == -18.0
    assert answer.bound == pytest.approx(-18.0)


def test_the_solver_says_nothing(capfd: pytest.CaptureFixture[str]) -> None:
    """What is written to stdout is data: the solver does not greet, nor tell how it gets on."""
    program, objective = _knapsack()
    run(program, objective, Limits())
    relax(program, objective, Limits())
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("seed", [30, 36, 41, 52])
def test_what_is_called_optimal_is_worth_its_bound(seed: int) -> None:
    """From any start the optimum of a site's programme is worth what its bound says.

    1.16.0 gave the start back as the optimum there, with the value of a better point: 548.75 for 442.5.
    """
    site = tiny_site(seed)
    model = QuestionModel(site)
    start = construct_plan(site, 0)
    for aim in (Aim.POWER, Aim.CHANGE, Aim.COST):
        answer = model.ask(Question(aim, minimise=True), Limits(), start)
        if answer.ending is Ending.PROVEN:
            assert answer.objective == pytest.approx(answer.bound, abs=1e-4), aim
