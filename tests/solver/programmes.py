"""Small random programmes, and their least value by trying every point."""

from __future__ import annotations

import random
from itertools import product

import pulp

from planner.solver import Program

Drawn = tuple[Program, pulp.LpAffineExpression]


def drawn(seed: int) -> Drawn:
    """Make a programme of 6 to 8 whole variables with mixed rows, some of them equalities, and an aim."""
    rng = random.Random(seed)
    program = Program()
    for index in range(rng.randint(6, 8)):
        if rng.random() < 0.7:
            program.binary(f"choice {index}")
        else:
            program.integer(f"count {index}", rng.randint(1, 3))
    for number in range(rng.randint(3, 6)):
        chosen = rng.sample(program.variables, rng.randint(2, len(program.variables)))
        body = program.total((v, float(rng.choice((-5, -3, -1, 1, 2, 4, 7)))) for v in chosen)
        right = float(rng.randint(-2, 8))
        dice = rng.random()
        row = body == right if dice < 0.15 else body >= right if dice < 0.4 else body <= right
        program.row(f"row {number}", row)
    costs = [(v, float(rng.randint(-9, 9)) + rng.choice((0.0, 0.5, 0.25))) for v in program.variables]
    return program, program.total(costs) + float(rng.choice((0, 10)))


def least(program: Program, objective: pulp.LpAffineExpression) -> float | None:
    """Compute the least value of a programme of whole variables by trying every point; None if none holds."""
    ranges = [range(int(v.lowBound), int(v.upBound) + 1) for v in program.variables]
    rows = [(dict(row.items()), row.sense, -row.constant) for row in program.rows.values()]
    best: float | None = None
    for point in product(*ranges):
        at = dict(zip(program.variables, point, strict=True))
        if all(_holds(sum(c * at[v] for v, c in terms.items()), sense, side) for terms, sense, side in rows):
            value = objective.constant + sum(c * at[v] for v, c in objective.items())
            best = value if best is None or value < best else best
    return best


def _holds(left: float, sense: int, right: float) -> bool:
    if sense == pulp.LpConstraintLE:
        return left <= right
    return left >= right if sense == pulp.LpConstraintGE else left == right


def refused_by_presolve() -> Drawn:
    """Make a programme with the point all 0 but load 1/6 and 0.55, which HiGHS 1.15.1's presolve refuses."""
    program = Program()
    loads = [program.continuous(f"load {index}") for index in (0, 1)]
    items = [program.binary(f"item {index}") for index in (0, 1)]
    units, extra = program.integer("units", 2), program.binary("extra")
    have, runs = program.binary("have"), program.binary("runs")
    rooms = [program.binary(f"room {index}") for index in (0, 1)]
    shares = [program.continuous(f"share {index}") for index in (0, 1)]
    total = program.total
    program.row("first load", total([(loads[0], 1.0)]) == 0.166666666666667)
    parts = [(items[0], 0.183333333333333), (items[1], 0.1), (loads[1], -1.0)]
    program.row("second load", total(parts) == -0.55)
    for index in (0, 1):
        program.row(f"share {index}", total([(shares[index], 1.0), (rooms[index], -1.0)]) <= 0)
    program.row("shares", total([(runs, -1.0), (shares[0], 1.0), (shares[1], 1.0)]) == 0)
    program.row("there to run", total([(have, -1.0), (runs, 1.0)]) >= 0)
    program.row("one room", total([(have, -1.0), (rooms[0], 1.0), (rooms[1], 1.0)]) == 0)
    program.row("no second room", total([(rooms[1], 1.0)]) == 0)
    program.row("held", total([(units, 1.0), (extra, 1.0)]) <= 0.0001)
    drawn_w = [(loads[0], 1.0), (loads[1], 1.0), (units, 1.0), (extra, 1.0), (shares[0], 137.0)]
    program.row("power", total([*drawn_w, (shares[1], 1.0)]) <= 42.96306296296302)
    return program, pulp.LpAffineExpression()
