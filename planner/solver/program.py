"""An integer programme as data: variables, named rows, an objective to minimise."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import count

import pulp

from planner.domain.conflict import Conflict


class Program:
    """Rows and variables of a programme; the objective is given anew for each run.

    A row that may give way is ``about`` the conflict there is where it cannot be kept, its amount unknown.
    """

    def __init__(self) -> None:
        self.variables: list[pulp.LpVariable] = []
        self._maker = pulp.LpProblem()
        self._names: set[str] = set()
        self.rows: dict[str, pulp.LpConstraint] = {}
        self.about: dict[str, Conflict] = {}

    def binary(self, name: str) -> pulp.LpVariable:
        """Add a variable that is 0 or 1."""
        return self._add(name, 0, 1, pulp.LpInteger)

    def integer(self, name: str, upper: int) -> pulp.LpVariable:
        """Add a whole number from 0 to ``upper``."""
        return self._add(name, 0, upper, pulp.LpInteger)

    def continuous(self, name: str, upper: float | None = 1.0, lower: float | None = 0.0) -> pulp.LpVariable:
        """Add a real number within bounds (None: unbounded)."""
        return self._add(name, lower, upper, pulp.LpContinuous)

    def row(self, name: str, constraint: pulp.LpConstraint, about: Conflict | None = None) -> None:
        """Add a named row; where names that a person gave make the name a taken one, it gets a number."""
        own, numbers = name, count(1)
        while own in self.rows:
            own = f"{name}~{next(numbers)}"
        self.rows[own] = constraint
        if about is not None:
            self.about[own] = about

    def total(self, terms: Iterable[tuple[pulp.LpVariable, float]]) -> pulp.LpAffineExpression:
        """Make the sum of coefficient times variable; a variable may occur several times."""
        summed: dict[pulp.LpVariable, float] = {}
        for variable, coefficient in terms:
            summed[variable] = summed.get(variable, 0.0) + coefficient
        return pulp.LpAffineExpression(summed)

    def _add(self, name: str, lower: float | None, upper: float | None, sort: str) -> pulp.LpVariable:
        """Make a variable whose name is its own even after the modelling layer rewrites some characters."""
        variable = self._maker.add_variable(name, lower, upper, sort)
        if variable.name in self._names:
            variable = self._maker.add_variable(f"{name}~{len(self.variables)}", lower, upper, sort)
        self._names.add(variable.name)
        self.variables.append(variable)
        return variable
