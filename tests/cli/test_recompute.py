"""`verify --recompute`: what the page of a plan file should say, figure by figure."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from planner.cli.exit_codes import ExitCode
from planner.report.schemas import schema_of
from tests.cli.tiny import run, write_tiny

Page = dict[str, Any]


@pytest.fixture
def plan_file(tmp_path: Path) -> Path:
    """Make a saved plan of the tiny site: it buys the host, at 900 and 4 h of work."""
    target = tmp_path / "plan.json"
    assert run("plan", write_tiny(tmp_path), "-o", target).exit_code == ExitCode.DONE
    return target


def _forged(plan_file: Path, change: Callable[[Page], object]) -> Path:
    data = json.loads(plan_file.read_text(encoding="utf-8"))
    change(data)
    plan_file.write_text(json.dumps(data), encoding="utf-8")
    return plan_file.parent / "tiny.yaml"


def _differences(plan_file: Path, inventory: Path) -> list[dict[str, Any]]:
    result = run("verify", inventory, plan_file, "--recompute", "--json")
    data = json.loads(result.stdout)
    jsonschema.Draft202012Validator(schema_of("verify")).validate(data)
    assert result.exit_code == (ExitCode.BAD_INPUT if data["differences"] else ExitCode.DONE)
    found: list[dict[str, Any]] = data["differences"]
    return found


def test_a_plan_just_made_says_what_it_should(plan_file: Path) -> None:
    """Every figure of its page comes out again, in each face."""
    inventory = plan_file.parent / "tiny.yaml"
    assert _differences(plan_file, inventory) == []
    assert (
        "every figure of its page is what tiny.yaml"
        in run("verify", inventory, plan_file, "--recompute").stdout
    )
    plain = run("verify", inventory, plan_file, "--recompute", "--plain").stdout
    assert "page: every figure is what the inventory adds up to" in plain


def test_a_price_that_is_another_is_shown(plan_file: Path) -> None:
    """The inventory sells the host at 900; a page that says 800 is told so, and ends with 2."""

    def cheaper(data: Page) -> None:
        data["page"]["shopping"][0]["price"] = 800.0

    inventory = _forged(plan_file, cheaper)
    (found,) = _differences(plan_file, inventory)
    assert (found["where"], found["of"]) == ("page.shopping[0].price", "quiet-host")
    assert (found["stated"], found["recomputed"]) == (800.0, 900.0)
    text = run("verify", inventory, plan_file, "--recompute").stdout
    assert "page.shopping[0].price (quiet-host): said to be 800.0; it is 900.0" in text
    plain = run("verify", inventory, plan_file, "--recompute", "--plain").stdout
    assert "the page differs at page.shopping[0].price (quiet-host)" in plain


@pytest.mark.parametrize(
    ("change", "where"),
    [
        (lambda data: data["page"].pop("payback"), "page.payback"),
        (lambda data: data["page"].update(extra=1), "page.extra"),
        (lambda data: data["page"]["boxes"].pop(), "page.boxes[1]"),
        (lambda data: data["page"]["boxes"].append({}), "page.boxes[2]"),
        (lambda data: data["page"].update(outcome="stopped with a plan"), "page.outcome"),
        (lambda data: data["page"]["listeners"][0].update(met=None), "page.listeners[0].met"),
        (lambda data: data["page"]["proof"][0].update(proven=0), "page.proof[0].proven"),
        (lambda data: data.update(site="Elsewhere"), "site"),
        (lambda data: data.update(page=None), "page"),
    ],
)
def test_whatever_is_otherwise_is_named(
    change: Callable[[Page], object], where: str, plan_file: Path
) -> None:
    """Parts left out or made up, words, and marks; a 0 is no 'false'."""
    assert [item["where"] for item in _differences(plan_file, _forged(plan_file, change))] == [where]


def test_rounding_is_no_difference(plan_file: Path) -> None:
    """A figure written with one decimal may be one step of that off; two are a difference."""

    def off_by(tenths: int) -> Callable[[Page], object]:
        def change(data: Page) -> None:
            level = data["page"]["listeners"][0]
            level["before_dba"] = round(level["before_dba"] + tenths / 10, 1)

        return change

    inventory = _forged(plan_file, off_by(1))
    assert _differences(plan_file, inventory) == []
    _forged(plan_file, off_by(1))
    assert [item["where"] for item in _differences(plan_file, inventory)] == ["page.listeners[0].before_dba"]


def test_without_it_the_page_is_not_looked_at(plan_file: Path) -> None:
    """The judge judges the plan; the page is only for reading."""
    inventory = _forged(plan_file, lambda data: data.update(page=None))
    result = run("verify", inventory, plan_file, "--json")
    assert result.exit_code == ExitCode.DONE
    assert json.loads(result.stdout)["differences"] is None


def test_machines_that_break_a_rule_have_no_page(plan_file: Path) -> None:
    """What cannot be added up is not recomputed, and the broken rule stays the answer."""

    def unplaced(data: Page) -> None:
        data["state"]["machines"][0]["services"] = []

    inventory = _forged(plan_file, unplaced)
    result = run("verify", inventory, plan_file, "--recompute")
    assert result.exit_code == ExitCode.BAD_INPUT
    assert "its page was not recomputed" in result.stdout
