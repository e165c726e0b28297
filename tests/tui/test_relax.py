"""What may give way opens by the rule of a conflict, whatever services and boxes are called."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.domain.conflict import Conflict, Place, Rule, Shown
from planner.domain.machines import Role
from planner.inventory import load_text
from planner.inventory.editing import Document
from planner.report.common.conflicts import reasons
from tests.tui.infeasible import FILE, cases
from tui.forms.make import form_fields
from tui.relax import Way, ways_out

TEXT = """
site: {currency: EUR}
room: {size: 4 x 4 x 3 m, heat_loss: 60 W/K, rack_units: 42}
listeners:
  desk: {distance: 3 m}
supply: {circuits: {heat: {breaker: 16 A}}}
policy: {budget: 900, spare_hosts: 1}
boxes:
  rack: {cpu: 8, cores: 8, memory: 32 GiB, disk: 1 TB, circuit: heat, power: {idle: 50 W, peak: 90 W}}
  sound: {cpu: 8, cores: 8, memory: 32 GiB, disk: 1 TB, circuit: heat, power: {idle: 50 W, peak: 90 W}}
services:
  track-memory: {box: rack, cpu: 1, memory: 4 GiB, disk: 10 GB}
  budget: {box: rack, cpu: 1, memory: 4 GiB, disk: 10 GB}
  needs-disk-offer: {box: sound, cpu: 1, memory: 4 GiB, disk: 10 GB}
catalogue:
  circuit-headroom:
    {role: host, cpu: 16, cores: 16, memory: 64 GiB, disk: 2 TB, power: {idle: 30 W, peak: 60 W},
     price: 900, up_to: 2}
rules:
  apart:
    - {services: [track-memory, budget], because: one fault must not take both}
    - {services: [budget, needs-disk-offer], because: the rack}
"""
RACK = Place("rack", "rack")
KIND = Place("circuit-headroom-2", "circuit-headroom", is_any=True)

CASES: list[tuple[Conflict, list[tuple[tuple[object, ...], tuple[str, ...]]]]] = [
    (
        Conflict(Rule.CAPACITY, ("track-memory",), RACK, "disk_gb", amount=5.0, unit="GB", role=Role.BARE),
        [
            (("services", "track-memory"), ("disk",)),
            (("boxes", "rack"), ("disk",)),
        ],
    ),
    (
        Conflict(Rule.PHYSICAL, ("budget",), KIND, because="the rack's budget"),
        [(("services", "budget"), ("stay_physical",))],
    ),
    (
        Conflict(Rule.APART, ("budget", "track-memory"), KIND, shown=Shown.REPAIR),
        [(("rules", "apart", 0), ("services",))],
    ),
    (
        Conflict(Rule.STAY_ON, ("track-memory",), KIND, others=("sound",)),
        [(("services", "track-memory"), ("stay_on",))],
    ),
    (
        Conflict(Rule.NEEDS, ("needs-disk-offer",), RACK, others=("budget",)),
        [(("services", "needs-disk-offer"), ("needs",)), (("boxes", "rack"), ("offers",))],
    ),
    (
        Conflict(Rule.BUDGET, unit="EUR", amount=12.5, there=900.0, shown=Shown.REPAIR),
        [(("policy",), ("budget",))],
    ),
    (
        Conflict(
            Rule.CIRCUIT, (), Place("heat", "heat"), amount=70.0, unit="W", there=9.0, shown=Shown.REPAIR
        ),
        [(("supply",), ("circuits",))],
    ),
    (
        Conflict(Rule.OTHER_HOST, ("budget",), lost=(KIND,), shown=Shown.AFTER_LOSS),
        [(("services", "budget"), ("restart",))],
    ),
    (
        Conflict(Rule.UNITS, (), KIND, amount=1.0, there=0.0),
        [(("catalogue", "circuit-headroom"), ("up_to",))],
    ),
]


@pytest.mark.slow
def test_every_conflict_of_random_inventories_opens_a_field() -> None:
    """Whatever leaves no plan, something can be changed, in a field that its form has."""
    shown = set()
    for case in cases(range(45)):
        document = Document.of(case.text, FILE)
        for conflict in case.result.conflicts:
            ways = ways_out(case.site, document, [conflict])
            assert ways, conflict
            for way in ways:
                assert way.field in {field.path for field, _ in form_fields(document, [way.entry])}, way
            shown.add((conflict.shown, conflict.rule))
    assert len(shown) > 8, shown


def _opened(conflict: Conflict) -> list[Way]:
    site, document = load_text(TEXT, Path("office.yaml")).site, Document.of(TEXT, "office.yaml")
    assert reasons(site, None, [conflict])
    found = ways_out(site, document, [conflict])
    for way in found:
        fields = [field.path for field, _ in form_fields(document, [way.entry])]
        assert way.field in fields, way
    return found


@pytest.mark.parametrize(("conflict", "wanted"), CASES, ids=[str(case.rule) for case, _ in CASES])
def test_a_rule_opens_its_own_fields_and_no_other(
    conflict: Conflict, wanted: list[tuple[tuple[object, ...], tuple[str, ...]]]
) -> None:
    """Names such as track-memory, rack, sound, budget and heat open nothing by themselves."""
    assert [(way.entry, way.field) for way in _opened(conflict)] == wanted


def test_a_sum_is_offered_with_its_figure() -> None:
    """What a budget lacks stands beside it."""
    (way,) = _opened(Conflict(Rule.BUDGET, amount=12.5, unit="EUR", there=900.0, shown=Shown.REPAIR))
    assert way.label == "the budget, 12.5 EUR more"
