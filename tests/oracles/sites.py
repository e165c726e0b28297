"""The planner against a search of every state, on as many tiny random sites as asked for.

``python -m tests.oracles.sites --count 3000`` (``--first`` to go on elsewhere) tells disagreements, and how
the proofs were confirmed; it ends with 1 where there was a disagreement.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections import Counter
from dataclasses import dataclass

from planner.domain.plan import Outcome
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.placement.result import Options
from planner.placement.solve import solve
from tests.kit.sites import tiny_site
from tests.oracles.brute import Best, Brute
from tests.oracles.order import alike, values_of

CLOSE = dict.fromkeys(Aim, 1e-3)

SHUFFLED_EVERY = 3
"""Every how many sites the aims are pursued in another order too."""


@dataclass(frozen=True)
class Comparison:
    """What became of a site and an order of aims: the disagreement, empty for none, and how it ended."""

    seed: int
    disagreement: str
    outcome: Outcome
    confirmed_by: tuple[str, ...]
    contradictions: tuple[str, ...]


def orders_of(site: Site, seed: int) -> list[tuple[Aim, ...]]:
    """Look up the orders of aims that a site is compared in."""
    shuffled = list(Aim)
    random.Random(seed).shuffle(shuffled)
    return [site.policy.aims, tuple(shuffled)] if seed % SHUFFLED_EVERY == 0 else [site.policy.aims]


def compare(seed: int) -> list[Comparison]:
    """Solve a tiny site and search all its states, for each of its orders of aims."""
    site = tiny_site(seed)
    brute = Brute(site)
    return [_compared(site, seed, aims, brute.best(aims)) for aims in orders_of(site, seed)]


def _compared(site: Site, seed: int, aims: tuple[Aim, ...], best: Best) -> Comparison:
    result = solve(site, Options(aims=aims))
    by = tuple(item.confirmed_by for item in result.plan.aims) if result.plan else (result.confirmed_by,)
    said = ""
    if (result.plan is None) != (best.state is None):
        said = f"the planner says {result.outcome}, the search {best.values or 'that none exists'}"
    elif result.plan is None:
        said = "" if result.outcome is Outcome.INFEASIBLE else f"no plan, but only {result.outcome}"
    elif result.outcome is not Outcome.PROVEN:
        said = f"the best plan is called {result.outcome}"
    elif not alike(values_of(site, result.plan.state), best.values, CLOSE):
        said = f"{aims}: {values_of(site, result.plan.state)} is called the best, {best.values} is possible"
    return Comparison(seed, said, result.outcome, by, result.contradictions)


def main(given: list[str] | None = None) -> int:
    """Compare the sites asked for and tell what came out."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=3000)
    parser.add_argument("--first", type=int, default=0)
    asked = parser.parse_args(given)
    outcomes, roads, wrong, contradictions = Counter[str](), Counter[str](), 0, 0
    for seed in range(asked.first, asked.first + asked.count):
        for found in compare(seed):
            outcomes[found.outcome] += 1
            roads.update(road or "one run alone" for road in found.confirmed_by)
            contradictions += bool(found.contradictions)
            if found.disagreement or found.contradictions:
                wrong += bool(found.disagreement)
                print(f"seed {seed}: {found.disagreement} {'; '.join(found.contradictions)}", flush=True)
    solves = sum(outcomes.values())
    print(f"{asked.count} sites from seed {asked.first}, {solves} solves: {wrong} disagreements,")
    print(f"{contradictions} solves in which solvers contradicted each other")
    for name, counted in (("outcomes", outcomes), ("proofs shown by", roads)):
        print(f"{name}: {', '.join(f'{number} {key}' for key, number in counted.most_common())}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
