"""A plan as JSON: it comes back as it went, keeps its schema, and says what is wrong with a changed one."""

from __future__ import annotations

import copy
import json
import math
from typing import Any

import jsonschema
import pytest

from planner.domain.conflict import Conflict, Place, Rule
from planner.domain.machines import Role
from planner.domain.plan import AimResult, Outcome, Plan
from planner.domain.rules import Aim
from planner.domain.state import state_today
from planner.placement.result import Result
from planner.report.plan import json_file
from planner.report.schemas import schema_of
from tests.kit.sites import plain_site
from tests.report.examples import plain_plan


def dumped() -> dict[str, Any]:
    """Collect the hand-made plan as it is written."""
    data: dict[str, Any] = json.loads(json.dumps(json_file.dump(*plain_plan()), allow_nan=False))
    return data


def test_round_trip() -> None:
    """Written and read again, a plan is the same, an unknown bound included."""
    site, plan = plain_plan()
    assert json_file.read(site, dumped()) == plan
    assert plan.aims[2].bound == -math.inf


def test_today_as_a_plan_comes_back_too() -> None:
    """Also without aims, measures or cooling."""
    site = plain_site()
    plan = Plan(state_today(site), (AimResult(Aim.CHANGE, 0.0, 0.0, True),), Outcome.PROVEN)
    assert json_file.read(site, json.loads(json.dumps(json_file.dump(site, plan)))) == plan


def test_schema_holds() -> None:
    """With a plan and without one."""
    validator = jsonschema.Draft202012Validator(schema_of("plan"))
    validator.validate(dumped())
    place = Place("alder", "alder")
    conflict = Conflict(Rule.NEEDS, ("files",), place, others=("tape",), role=Role.BARE, fits_nowhere="files")
    none = Result(Outcome.INFEASIBLE, None, (conflict,))
    validator.validate(json_file.dump_none(plain_site(), none))


def test_schema_refuses_what_is_not_in_it() -> None:
    """A key too many, one too few, and a text for a number are told."""
    validator = jsonschema.Draft202012Validator(schema_of("plan"))
    for key, value in (("extra", 1), ("aims", "none"), ("outcome", "fine")):
        assert not validator.is_valid({**dumped(), key: value})
    short = dumped()
    del short["page"]["payback"]
    assert not validator.is_valid(short)


def _set(path: str, value: object) -> dict[str, Any]:
    data = copy.deepcopy(dumped())
    at: Any = data
    *steps, last = path.split("/")
    for step in steps:
        at = at[int(step)] if isinstance(at, list) else at[step]
    at[int(last) if isinstance(at, list) else last] = value
    return data


@pytest.mark.parametrize(
    ("path", "value", "where"),
    [
        ("format", "stillroom.moves", "format"),
        ("version", 2, "version"),
        ("version", True, "version"),
        ("outcome", "wonderful", "outcome"),
        ("state", None, "state"),
        ("state", [], "state"),
        ("aims", {}, "aims"),
        ("aims/0/aim", "beauty", "aims[0].aim"),
        ("aims/0/value", "12", "aims[0].value"),
        ("aims/0/value", None, "aims[0].value"),
        ("aims/0/value", math.inf, "aims[0].value"),
        ("aims/0/value", 10**400, "aims[0].value"),
        ("aims/0/bound", None, "aims[0].bound"),
        ("aims/0/bound", math.nan, "aims[0].bound"),
        ("aims", [], "aims"),
        ("page/payback/outlay", math.inf, "page.payback.outlay"),
        ("page/figures/0/after", -math.inf, "page.figures[0].after"),
        ("aims/0/proven", 1, "aims[0].proven"),
        ("state/machines/0/kind", "quiet-hots", "state.machines[0].kind"),
        ("state/machines/0/box", "alder", "state.machines[0].box"),
        ("state/machines/0/circuit", "circuit-z", "state.machines[0].circuit"),
        ("state/machines/0/services/1", "post", "state.machines[0].services[1]"),
        ("state/machines/0/services/1", 7, "state.machines[0].services[1]"),
        ("state/machines/0/name", "birch", "state.machines"),
        ("state/machines/0/role", "king", "state.machines[0].role"),
        ("state/measures", ["magic"], "state.measures[0]"),
        ("state/cooling/spring", [], "state.cooling.spring"),
        ("state/cooling/summer", ["ice"], "state.cooling.summer[0]"),
    ],
)
def test_changed_file_is_told_with_its_place(path: str, value: object, where: str) -> None:
    """Every mistake names the path of the value."""
    with pytest.raises(json_file.PlanFileError) as caught:
        json_file.read(plain_site(), _set(path, value))
    assert caught.value.where == where


MACHINES = "state/machines"


def _as_previous(data: dict[str, Any]) -> dict[str, Any]:
    return {**dumped(), "previous": data["state"]}


@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        (f"{MACHINES}/1/name", "alder", "box .* is called 'alder'"),
        (f"{MACHINES}/0/name", "alder", "a unit has the name of a box"),
        (f"{MACHINES}/1/services", ["mail"], "service 'mail' runs more than once"),
    ],
)
def test_a_state_that_contradicts_itself_is_no_start(path: str, value: object, words: str) -> None:
    """The judge sees neither what changes are counted from nor where a plan starts, so reading refuses it."""
    changed = _set(path, value)
    with pytest.raises(json_file.PlanFileError, match=f"^state.machines: {words}"):
        json_file.read_last(plain_site(), changed)
    with pytest.raises(json_file.PlanFileError, match=f"^previous.machines: {words}"):
        json_file.read(plain_site(), _as_previous(changed))


def test_what_is_gone_since_is_left_out_of_a_start() -> None:
    """A box, a kind, a service, a measure and cooling that the site no longer has: each is told once."""
    site, data = plain_site(), dumped()
    whole, _ = json_file.read_last(site, data)
    machines = data["state"]["machines"]
    machines[0]["services"].append("gone-service")
    machines.append({**machines[0], "name": "gone-1", "kind": "gone-kind", "services": []})
    machines.append({**machines[0], "name": "gone", "kind": None, "box": "gone-box", "services": []})
    data["state"]["measures"].append("gone-measure")
    data["state"]["cooling"]["summer"].append("gone-cooler")
    data["state"]["cooling"]["gone-season"] = []
    state, dropped = json_file.read_last(site, data)
    assert state == whole
    assert len(dropped) == 6
    with pytest.raises(json_file.PlanFileError, match="gone-service"):
        json_file.read(site, data)


def test_near_names_are_offered() -> None:
    """A name that is nearly right is answered with the right one."""
    with pytest.raises(json_file.PlanFileError, match="did you mean 'quiet-host'"):
        json_file.read(plain_site(), _set("state/machines/0/kind", "quiet-hots"))


@pytest.mark.parametrize("data", [None, [], "plan", 3, {}])
def test_what_is_no_plan(data: object) -> None:
    """Anything else is refused without an exception of another kind."""
    with pytest.raises(json_file.PlanFileError):
        json_file.read(plain_site(), data)
