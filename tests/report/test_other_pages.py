"""The pages of `check`, `moves` and `verify`, the progress line, and schemas made from types."""

from __future__ import annotations

import json
from dataclasses import replace

import jsonschema
import pytest

from planner.inventory.loaded import Default, Loaded
from planner.inventory.text.errors import InventoryError, Problem
from planner.ledger import ledger
from planner.moves import order
from planner.report import schemas
from planner.report.check import page as check_page
from planner.report.check import text as check_text
from planner.report.common import text
from planner.report.common.json_data import document_data
from planner.report.common.progress import progress_text
from planner.report.moves import page as moves_page
from planner.report.moves import text as moves_text
from planner.report.verify import page as verify_page
from planner.verify import Breach
from tests.kit.sites import plain_site
from tests.report.examples import plain_plan

PROBLEM = Problem("a.yaml", 3, "boxes.alder.memory", "12 gigs?", "write a figure of memory such as '16 GiB'")


def test_check_page_of_a_bad_file() -> None:
    """Errors keep file, line, path, message and repair apart; the text has them in one line."""
    page = check_page.page_of_error("a.yaml", InventoryError((PROBLEM,)))
    data = document_data(page)
    jsonschema.Draft202012Validator(schemas.schema_of("check")).validate(data)
    assert (data["usable"], data["errors"][0]["line"]) == (False, 3)
    shown = text.paint(check_text.check_lines(page), colour=False)
    assert "a.yaml:3: boxes.alder.memory: 12 gigs? write a figure of memory such as '16 GiB'" in shown


def test_check_page_of_a_good_file() -> None:
    """Warnings and defaults are listed, and what is assumed."""
    site = plain_site()
    room = replace(site.room, assumed=frozenset({"surfaces"}))
    loaded = Loaded(replace(site, room=room), (Default("policy.inlet_limit", "27 °C", "usual"),), (PROBLEM,))
    page = check_page.page_of_site("a.yaml", loaded)
    data = document_data(page)
    jsonschema.Draft202012Validator(schemas.schema_of("check")).validate(data)
    assert data["usable"]
    assert data["counts"]["box"] == 2
    assert data["assumed"] == [{"of": "room", "figures": ["surfaces"]}]
    plain = text.paint(check_text.check_plain(page), colour=False).splitlines()
    assert "default: policy.inlet_limit: 27 °C (usual)" in plain
    assert f"warning: {PROBLEM}" in plain


def test_same_default_of_many_things_is_one_sentence() -> None:
    """What is taken for each of ten boxes alike is not said ten times, on the page for people."""
    defaults = [Default(f"boxes.{name}.network", "1000 Mbit/s", "usual port") for name in ("alder", "birch")]
    single = Default("policy.inlet_limit", "27 °C", "usual")
    assert check_text.grouped([*defaults, single]) == [
        "network of boxes: 1000 Mbit/s (usual port): alder, birch",
        "policy.inlet_limit: 27 °C (usual)",
    ]


def test_moves_page() -> None:
    """Waves carry their tasks, checks and the room after them; the last one is the plan's own ledger."""
    site, plan = plain_plan()
    page = moves_page.moves_page(site, "proven", order(site, plan.state))
    jsonschema.Draft202012Validator(schemas.schema_of("moves")).validate(_through_json(page))
    assert {task.subject for wave in page.waves for task in wave.tasks if task.sort == "move"} == {
        "records-db",
        "mail",
    }
    assert page.hours == pytest.approx(sum(wave.hours for wave in page.waves), abs=0.02)
    goal = ledger(site, plan.state).levels_dba["desk"]
    assert dict(page.waves[-1].levels_dba)["desk"] == pytest.approx(goal, abs=0.06)


def _through_json(page: moves_page.MovesPage) -> object:
    return json.loads(json.dumps(document_data(moves_page.MovesDocument(page=page)), allow_nan=False))


def test_moves_faces_show_rings_and_breaches() -> None:
    """What depends in a ring, and what passes a limit on the way, stands on both faces."""
    site, plan = plain_plan()
    page = moves_page.moves_page(site, "proven", order(site, plan.state))
    names = ("mail", "files")
    ring = moves_page.CycleEntry(names, names, (), "files, mail depend on each other")
    marked = replace(page, cycles=(ring,), breaches=("during wave 1 the rack holds 30 units, limit 12",))
    for lines in (moves_text.moves_lines(marked), moves_text.moves_plain(marked)):
        shown = text.paint(lines, colour=False)
        assert "depend on each other" in shown
        assert "30 units" in shown


def test_verify_page() -> None:
    """Breaches keep rule, place and sentence apart."""
    page = verify_page.verify_page("a.yaml", "p.json", (Breach("heat", "summer", "32 °C, limit 27 °C"),))
    data = document_data(page)
    jsonschema.Draft202012Validator(schemas.schema_of("verify")).validate(data)
    assert not data["holds"]
    assert "heat, summer: 32 °C, limit 27 °C" in text.paint(verify_page.verify_lines(page), colour=False)
    assert document_data(verify_page.verify_page("a.yaml", "p.json", ()))["holds"]


@pytest.mark.parametrize(
    ("best", "bound", "expected"),
    [
        (3.5, 2.0, "sound: best 3.5, bound 2, gap 1.5, 12 s"),
        (None, 2.0, "sound: best ?, bound 2, gap ?, 12 s"),
        (3.5, float("-inf"), "sound: best 3.5, bound ?, gap ?, 12 s"),
        (None, None, "sound: best ?, bound ?, gap ?, 12 s"),
    ],
)
def test_progress_line(best: float | None, bound: float | None, expected: str) -> None:
    """Best, bound, gap and seconds; what is not known yet is a question mark."""
    assert progress_text("sound", best, bound, 12.3) == expected
    assert progress_text("", None, None, 3.2) == "solving, 3 s"


def test_there_is_no_schema_of_another_name() -> None:
    """A name that no command has is a mistake of ours, told at once."""
    with pytest.raises(KeyError):
        schemas.schema_of("nothing")
