"""Compares programme, ledger and judge state by state, on random states of random sites.

Every state is put to the integer programme with all decisions fixed to it. What rows it breaks, and what each
aim comes to, must be what the judge finds and the ledger adds up. By hand, for as many as wanted:

    python -m tests.oracles.states --count 100000 --seed 0

Every state on which they do not agree is named; its site is `full_site` of the number in the name.
"""

from __future__ import annotations

import argparse
import math
import random
from collections import Counter
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from functools import cached_property

from planner.domain.conflict import Conflict
from planner.domain.plan import SOUND_STEP_DB, aim_value
from planner.domain.resources import RESOURCES
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import State
from planner.ledger import ledger
from planner.placement.formulation.objectives import objective
from planner.placement.formulation.question_model import HOLD, grain
from planner.placement.formulation.thermal import cooling_rows
from planner.placement.infeasibility.preflight import preflight
from planner.placement.optimise.chance_constraint import (
    asks_for_confidence,
    needed_margins_db,
    tighten_targets,
)
from planner.placement.result import TooManyVariantsError
from planner.tolerances import SOLVER
from planner.verify import verify_state
from planner.verify.plan.aims import is_surely, value_of
from planner.verify.trial import Trial
from tests.kit.every_key import full_site
from tests.kit.near_plans import nearly_a_plan, neighbour, on_its_limits
from tests.oracles.fixed import Fixed, Floats, InexpressibleError, Rows

STATES_A_SITE, STATES_ON_LIMITS = 24, 9
"""How many states are compared of a site, and of one whose limits lie where its first state comes to."""

CLOSE = 1e-6
"""Share (of values under 1: the difference) by which sums may differ that are added up in another order."""

SAME_RULE: Mapping[str, str] = {
    **dict.fromkeys(RESOURCES, "capacity"),
    "rack units": "rack",
    "circuit": "circuits",
    "measure needs": "measure_requires",
    "cooling needs": "cooling_requires",
    "physical quorum": "quorum",
    "stays on": "stays",
    "on only to carry": "empty",
    "one service or group": "alone",
    "load only in its mode": "capacity",
    "measure_excludes": "not both",
    "cooling_excludes": "not both",
}
"""What the judge calls a rule whose rows are called something else; both say 'not both' of exclusions."""


@dataclass
class Tally:
    """How many states were compared, how many of them are plans, and every disagreement."""

    sites: int = 0
    states: int = 0
    plans: int = 0
    refused: int = 0
    broken: Counter[str] = field(default_factory=Counter)
    disagreements: list[str] = field(default_factory=list)


def compare_site(seed: int, most: int, tally: Tally) -> None:
    """Compare states of the site of a seed; two sites of three have limits where a state lies."""
    rng = random.Random(f"states {seed}")
    site, count = full_site(seed), STATES_A_SITE
    first = nearly_a_plan(site, rng)
    if seed % 3:
        with suppress(ValueError):
            site, count = on_its_limits(site, first, rng), STATES_ON_LIMITS
    try:
        case = Case(site)
    except TooManyVariantsError:
        return
    tally.sites += 1
    state = first
    for number in range(min(count, most)):
        for words in case.disagreements(state, tally):
            tally.disagreements.append(f"site {seed}, state {number}: {words}")
        fresh = rng.random() < 0.4
        state = nearly_a_plan(site, rng) if fresh else neighbour(site, rng, first if number % 2 else state)


class Case:
    """A site whose states are compared."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.plain = replace(site, listeners=tuple(replace(each, confidence=None) for each in site.listeners))
        self.previous = nearly_a_plan(site, random.Random(len(site.services)))
        self.exact = Fixed(self.plain, True, self.previous)
        self.pooled = Fixed(self.plain, False, self.previous)

    @cached_property
    def preflight(self) -> tuple[Conflict, ...]:
        """What is said against the site before any programme."""
        return preflight(self.site)

    def disagreements(self, state: State, tally: Tally) -> Iterator[str]:
        """Find where programme, ledger and judge do not say the same of a state."""
        rules = {_rule(breach.rule) for breach in verify_state(self.site, state)}
        tally.states += 1
        tally.plans += not rules
        tally.broken.update(rules)
        try:
            values = self.exact.values(state)
        except InexpressibleError as error:
            tally.refused += 1
            if not rules:
                yield f"the judge accepts what the programme has no values for: {error}"
            return
        broken = self.exact.broken(values)
        rows = {_rule(name) for name in broken}
        unasked = _unasked(rows)
        if rules - unasked != rows - unasked:
            yield f"the judge finds {sorted(rules)} broken, the programme {sorted(rows)} ({broken[:4]})"
        if rules & {"capacity", "heat"}:
            return
        yield from self._sums(state, self.exact, values)
        yield from self._sound(state, self.exact, values)
        if not rules:
            yield from self._plan(state)

    def _plan(self, state: State) -> Iterator[str]:
        """Compare what every plan keeps: the rows of pools, those for little heat, and the pre-flight."""
        if self.preflight:
            yield f"there is a plan, but the pre-flight says: {self.preflight[0]}"
        try:
            values = self.pooled.values(state)
        except InexpressibleError as error:
            yield f"the programme of pools has no values for a plan: {error}"
            return
        broken = self.pooled.broken(values)
        if broken:
            yield f"a plan breaks the rows of pools {broken[:4]}"
        yield from self._sums(state, self.pooled, values)
        most_w = ledger(self.site, state).mean_power_w + HOLD[Aim.POWER]
        cool = Rows.of(cooling_rows(self.pooled.model, most_w), self.pooled.columns).broken(values)
        if cool:
            yield f"a plan breaks {cool}"

    def _sums(self, state: State, fixed: Fixed, values: Floats) -> Iterator[str]:
        """Compare what watts, cost and changes come to."""
        book, trial = ledger(self.site, state), Trial(self.site, state)
        for aim, previous in (
            (Aim.POWER, None),
            (Aim.COST, None),
            (Aim.CHANGE, None),
            (Aim.CHANGE, self.previous),
        ):
            fixed.model.previous = previous
            expression = objective(fixed.model, aim)
            counted = fixed.sum_of(expression, values)
            steps = (counted - expression.constant) / (grain(expression) or math.inf)
            if abs(steps - round(steps)) > CLOSE * max(1.0, abs(steps)):
                yield f"{aim}: {counted!r} is no whole number of steps of {grain(expression)}"
            counted += self._units_more_or_less(state) if previous else 0
            added = aim_value(self.site, state, book, aim, previous)
            judged = value_of(trial, aim, previous)
            if previous and not fixed.tells_hosts_apart:
                counted = max(counted, added)
            if not _close(counted, added) or not _close(added, judged):
                since = " since a plan" if previous else ""
                yield f"{aim}{since}: programme {counted!r}, ledger {added!r}, judge {judged!r}"

    def _units_more_or_less(self, state: State) -> int:
        """Count units of each kind more or less than in the earlier plan: variables of their own."""
        kinds = [Counter(machine.kind for machine in each.machines) for each in (state, self.previous)]
        return sum(abs(kinds[0][kind.name] - kinds[1][kind.name]) for kind in self.site.kinds)

    def _sound(self, state: State, fixed: Fixed, values: Floats) -> Iterator[str]:
        """Compare the least step of half a decibel at which all rows of sound hold."""
        book = ledger(self.site, state)
        added = aim_value(self.site, state, book, Aim.SOUND)
        trial, hearing = Trial(self.site, state), fixed.hearing
        if asks_for_confidence(self.site):
            if not is_surely(trial, added):
                yield f"sound: ledger {added}, judge {value_of(trial, Aim.SOUND)}"
            margins_db = needed_margins_db(self.site, state)
            hearing = fixed.hearing_of(tighten_targets(self.site, margins_db))
        elif value_of(trial, Aim.SOUND) != added:
            yield f"sound: ledger {added}, judge {value_of(trial, Aim.SOUND)}"
        broken = Rows.of(hearing.rows(added), fixed.columns).broken(values, 0.0)
        if broken:
            yield f"sound: ledger {added}, but the programme's {broken[:3]} break there"
        less = added - SOUND_STEP_DB
        if less >= 0.0 and not Rows.of(hearing.rows(less), fixed.columns).broken(values, SOLVER):
            yield f"sound: ledger {added}, but the programme's rows hold at {less}"


def _unasked(rows: set[str]) -> set[str]:
    """List the rules on which the two need not agree where others are broken.

    Spare hosts are looked at only where all else holds; the ledger stops at a full CPU, rows go on.
    """
    spare = {"spare"} if rows - {"spare"} else set[str]()
    return spare | ({"heat"} if "capacity" in rows else set())


def _close(value: float, other: float) -> bool:
    return abs(value - other) <= CLOSE * max(1.0, abs(other))


def _rule(name: str) -> str:
    """Write the rule that a row or a finding of the judge stands for."""
    begins = name.split(":")[0]
    for several in ("physical quorum", "spare"):
        begins = several if begins.startswith(several) else begins
    return SAME_RULE.get(begins, begins)


def compare(count: int, seed: int) -> Tally:
    """Compare so many states, a few a site, from the site of a seed on."""
    tally, number = Tally(), seed
    while tally.states < count:
        compare_site(number, count - tally.states, tally)
        number += 1
    return tally


def main() -> None:
    """Compare as many states as the command line asks for and print the tally."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=5000)
    parser.add_argument("--seed", type=int, default=0)
    asked = parser.parse_args()
    tally = compare(asked.count, asked.seed)
    print(f"{tally.states} states of {tally.sites} sites from seed {asked.seed} on: {tally.plans} plans")
    print(f"{tally.refused} have no values; broken: {dict(tally.broken.most_common())}")
    for words in tally.disagreements[:40]:
        print(words)
    print(f"{len(tally.disagreements)} disagreements")
    raise SystemExit(bool(tally.disagreements))


if __name__ == "__main__":
    main()
