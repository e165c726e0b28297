"""Units of a kind are those of that kind, whatever other kinds are called."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from planner.domain.machines import Role
from planner.domain.plan import Outcome, Plan
from planner.domain.state import Machine, State
from planner.placement.result import Result
from tests.tui.screens import copy_of
from tui.session import Session
from tui.views.boxes import box_detail


def test_a_kind_shows_its_own_units_only(tmp_path: Path) -> None:
    """Of the kinds mini and mini-2, a unit of the second is none of the first, though its name begins so."""
    session = Session.open(copy_of(tmp_path))
    kind = next(item for item in session.site.kinds if item.role is Role.HOST)
    site = replace(session.site, kinds=(replace(kind, name="mini"), replace(kind, name="mini-2")))
    session.loaded = replace(session.loaded, site=site)
    names, circuit = [item.name for item in site.services], site.supply.circuits[0].name
    machines = (
        Machine("mini-1", Role.HOST, circuit, tuple(names[:1]), kind="mini"),
        Machine("mini-2-1", Role.HOST, circuit, tuple(names[1:]), kind="mini-2"),
    )
    plan = Plan(State(machines), (), Outcome.STOPPED_WITH_PLAN)
    session.take(Result(plan.outcome, plan), session.revision)
    assert [line.split()[0] for line in box_detail(session, "catalogue/mini")[1:]] == ["mini-1"]
    assert [line.split()[0] for line in box_detail(session, "catalogue/mini-2")[1:]] == ["mini-2-1"]
