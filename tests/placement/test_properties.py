"""What must hold for every site: the same plan twice, no dependence on names or order, more never hurts."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.placement.result import Options
from planner.placement.solve import solve
from tests.kit.sites import medium_site, tiny_site
from tests.oracles.order import values_of
from tests.placement import reworked

SEEDS = range(300, 340)
CLOSE = 1e-3


def _values(site: Site, aims: tuple[Aim, ...]) -> list[float]:
    """List the values of the plan in the order of the aims; all infinite when there is none."""
    plan = solve(site, Options(aims=aims)).plan
    found = values_of(site, plan.state) if plan is not None else {}
    return [found.get(aim, math.inf) for aim in aims]


def _worse(left: list[float], right: list[float]) -> bool:
    """Say whether the left values are worse at the first aim in which the two really differ."""
    for mine, other in zip(left, right, strict=True):
        if math.isinf(mine) or math.isinf(other):
            return mine > other
        if abs(mine - other) > CLOSE:
            return mine > other
    return False


@pytest.mark.slow
@pytest.mark.parametrize("seed", [*range(300, 312), 321])
def test_same_input_same_plan(seed: int) -> None:
    """The same site and seed give the identical plan, machine by machine."""
    site = tiny_site(seed)
    first, second = solve(site, Options(seed=3)), solve(tiny_site(seed), Options(seed=3))
    assert first.outcome is second.outcome
    assert first.plan == second.plan
    assert first.conflicts == second.conflicts


@pytest.mark.slow
def test_same_input_same_plan_on_a_larger_site() -> None:
    """Twelve services planned twice give the identical plan."""
    first, second = solve(medium_site(3)), solve(medium_site(3))
    assert first.plan is not None
    assert first.plan == second.plan


@pytest.mark.slow
@pytest.mark.parametrize("seed", SEEDS)
def test_order_does_not_matter(seed: int) -> None:
    """Objects listed in another order give a plan as good in every aim."""
    site = tiny_site(seed)
    aims = site.policy.aims
    assert _values(reworked.shuffled(site, seed), aims) == pytest.approx(_values(site, aims), abs=CLOSE)


@pytest.mark.slow
@pytest.mark.parametrize("seed", SEEDS)
def test_names_do_not_matter(seed: int) -> None:
    """Other names, with signs that solvers write alike, give a plan as good in every aim."""
    site, signs = tiny_site(seed), dict[str, str]()
    names = [*site.service, *site.box, *site.kind, *site.cooling_option]
    for number, name in enumerate(names):
        signs[name] = "x" + "-_ +"[number % 4] * (1 + number // 4)
    other = reworked.renamed(site, lambda name: signs.get(name, f"[{name}] ü/>"))
    aims = site.policy.aims
    assert _values(other, aims) == pytest.approx(_values(site, aims), abs=CLOSE)


MORE = (reworked.without_kind, reworked.without_measures, reworked.without_new_cooling)
TIGHTER = (reworked.poorer, reworked.cooler, reworked.weaker_circuits)


@pytest.mark.slow
@pytest.mark.parametrize("less", MORE, ids=lambda change: change.__name__)
@pytest.mark.parametrize("aim", [Aim.SOUND, Aim.POWER, Aim.COST])
def test_an_option_more_never_hurts(less: Callable[[Site], Site], aim: Aim) -> None:
    """With a kind, measures or cooling options more, the first aim is never worse than without."""
    aims = (aim, *(other for other in Aim if other is not aim))
    for seed in range(340, 352):
        site = tiny_site(seed)
        assert not _worse(_values(site, aims)[:1], _values(less(site), aims)[:1]), seed


@pytest.mark.slow
@pytest.mark.parametrize("tighter", TIGHTER, ids=lambda change: change.__name__)
def test_tightening_never_helps(tighter: Callable[[Site], Site]) -> None:
    """With less money, a cooler room or weaker circuits no plan is better in the order of the aims."""
    for seed in range(352, 372):
        site = tiny_site(seed)
        aims = site.policy.aims
        assert not _worse(_values(site, aims), _values(tighter(site), aims)), seed


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(372, 392))
def test_lower_targets_are_not_met_better(seed: int) -> None:
    """With targets 3 dB lower the sound aim is worse by at most 3 dB, and never better."""
    site, aims = tiny_site(seed), (Aim.SOUND,)
    before, after = _values(site, aims)[0], _values(reworked.stricter(site), aims)[0]
    assert before <= after or math.isinf(before)
    assert math.isinf(before) == math.isinf(after)
    assert math.isinf(before) or after <= before + 3.0
