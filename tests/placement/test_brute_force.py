"""The planner against a search of every state, on 400 tiny sites with every rule in play."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from planner.domain.machines import Role
from planner.domain.plan import Outcome
from planner.domain.site import Site
from planner.domain.state import Machine, State
from planner.placement.solve import solve
from planner.verify import verify_state
from tests.kit.sites import tiny_site
from tests.oracles.brute import Brute
from tests.oracles.order import GIVE_BACK, values_of
from tests.oracles.sites import compare

SITES = 400
CHUNK = 10


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, SITES, CHUNK))
def test_no_state_is_better_than_the_plan(first: int) -> None:
    """A plan exists exactly when some state passes the judge, and no such state beats it."""
    for seed in range(first, first + CHUNK):
        for found in compare(seed):
            assert not found.disagreement, (seed, found)
            assert not found.contradictions, (seed, found)


@pytest.mark.slow
def test_the_sites_have_plans_and_have_none() -> None:
    """Among the sites tried are many with a plan and many without, so that agreement says something."""
    outcomes = [solve(tiny_site(seed)).outcome for seed in range(0, SITES, 10)]
    assert 5 < outcomes.count(Outcome.INFEASIBLE) < 35


def _random_state(site: Site, rng: random.Random) -> State:
    """Make a state with services anywhere, any measures and any cooling: mostly a bad one."""
    circuits = [circuit.name for circuit in site.supply.circuits]
    slots = [
        Machine(box.name, role, box.circuit, (), box=box.name)
        for box in site.boxes
        for role in [rng.choice((Role.HOST, Role.HOST if box.hosts_today else Role.BARE))]
    ]
    for kind in site.kinds:
        names = [f"{kind.name}-{unit}" for unit in range(kind.max_units)]
        slots += [Machine(name, kind.role, rng.choice(circuits), (), kind=kind.name) for name in names]
    homes = {service.name: rng.choice(slots).name for service in site.services}
    if rng.random() < 0.5:
        homes = {service.name: rng.choice((service.box, slots[-1].name)) for service in site.services}
    carried = [replace(s, services=tuple(n for n, home in homes.items() if home == s.name)) for s in slots]
    machines = tuple(s for s in carried if s.services or (s.box and site.box[s.box].stays))
    measures = frozenset(item.name for item in site.measures if rng.random() < 0.4)
    runs = {s.name: frozenset(o.name for o in site.cooling if rng.random() < 0.6) for s in site.seasons}
    return State(machines, measures, runs)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(0, 24))
def test_no_accepted_state_is_missed(seed: int) -> None:
    """Of states thrown at random, none that the judge accepts beats the best of the search."""
    site, rng = tiny_site(seed), random.Random(seed)
    best = Brute(site).best(site.policy.aims)
    for _ in range(400):
        state = _random_state(site, rng)
        if verify_state(site, state):
            continue
        assert best.state is not None, state
        values = values_of(site, state)
        for aim in site.policy.aims:
            assert values[aim] >= best.values[aim] - 2.0 * GIVE_BACK[aim] - 1e-6, (aim, values, best.values)
            if values[aim] > best.values[aim] + GIVE_BACK[aim]:
                break
