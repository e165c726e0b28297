"""`verify --order`: an order that `moves --json` wrote is walked again, without a solver."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from planner.cli.exit_codes import ExitCode
from planner.inventory import load
from planner.moves import order
from planner.moves.tasks.walk import written
from planner.report.moves.reader import read_order
from planner.report.plan.json_file import read
from planner.report.schemas import schema_of
from tests.cli.tiny import TINY, run, write_tiny

WINDOWS = "windows:\n  timezone: Europe/Vienna\n  weekly: [{day: saturday, from: 08:00, hours: 8}]\n"


@pytest.fixture
def tiny(tmp_path: Path) -> Path:
    """Make the tiny site with its plan and, on dates, the order of its moves beside it."""
    path = write_tiny(tmp_path, TINY + WINDOWS)
    assert run("plan", path, "-o", tmp_path / "plan.json").exit_code == ExitCode.DONE
    save(path, run("moves", path, tmp_path / "plan.json", "--start", "2027-03-01", "--keep", "--json").stdout)
    return path


def save(path: Path, text: str) -> None:
    """Put an order beside an inventory."""
    (path.parent / "order.json").write_text(text, encoding="utf-8")


def verdict(path: Path, *more: str) -> Any:
    """Run `verify --order` and give its JSON, which keeps its schema and goes with its exit code."""
    folder = path.parent
    result = run("verify", path, folder / "plan.json", "--order", folder / "order.json", "--json", *more)
    data = json.loads(result.stdout)
    jsonschema.Draft202012Validator(schema_of("verify")).validate(data)
    assert result.exit_code == (ExitCode.DONE if data["holds"] else ExitCode.BAD_INPUT), result.stderr
    return data


def test_what_moves_wrote_holds(tiny: Path) -> None:
    """With dates, without, and once a wave is done, whose tasks it lists by name only."""
    assert verdict(tiny) == {
        "format": "stillroom.verify",
        "version": 1,
        "inventory": "tiny.yaml",
        "plan": "plan.json",
        "order": "order.json",
        "holds": True,
        "breaches": [],
        "differences": None,
        "not_recomputed": [],
    }
    save(tiny, run("moves", tiny, tiny.parent / "plan.json", "--done", "1", "--json").stdout)
    assert json.loads((tiny.parent / "order.json").read_text(encoding="utf-8"))["page"]["done"]
    assert verdict(tiny)["holds"]
    (tiny.parent / "tiny.progress.yaml").unlink()
    save(tiny, run("moves", tiny, tiny.parent / "plan.json", "--json").stdout)
    assert verdict(tiny)["holds"]


def _sooner(page: Any) -> None:
    page["waves"][-1]["start"] = page["waves"][-2]["start"]


def _quieter(page: Any) -> None:
    page["waves"][0]["levels_dba"][0][1] -= 3.0


def _unsaved(page: Any) -> None:
    for wave in page["waves"]:
        wave["tasks"] = [task for task in wave["tasks"] if task["task"] != "back up: mail"]


def _longer(page: Any) -> None:
    page["waves"][1]["tasks"][0]["hours"] = 9.5


def _in_another_order(page: Any) -> None:
    for wave in page["waves"]:
        wave["tasks"].reverse()


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        (_sooner, "time"),
        (_quieter, "figures"),
        (_unsaved, "back up"),
        (_longer, "work"),
        (_in_another_order, "prepare"),
    ],
)
def test_a_changed_order_is_caught(tiny: Path, change: Callable[[Any], None], rule: str) -> None:
    """What a person changed in the file is judged, and named by its rule, on every face."""
    file = tiny.parent / "order.json"
    data = json.loads(file.read_text(encoding="utf-8"))
    change(data["page"])
    save(tiny, json.dumps(data))
    assert rule in {breach["rule"] for breach in verdict(tiny)["breaches"]}
    for face in ((), ("--plain",)):
        result = run("verify", tiny, tiny.parent / "plan.json", "--order", file, *face)
        assert result.exit_code == ExitCode.BAD_INPUT
        assert "order.json" in result.stdout
        assert rule in result.stdout


@pytest.mark.slow
@pytest.mark.parametrize(
    ("place", "value", "told"),
    [
        (("format",), "stillroom.plan", "format: this is no stillroom.moves file of version 2"),
        (("page", "waves", 0, "start"), "yesterday", "page.waves[0].start: expected a date with its time"),
        (("page", "waves", 0, "start"), "2027-03-06T08:00:00", "page.waves[0].start: this needs a time zone"),
        (("page", "waves", 0, "tasks", 0, "task"), "dance", "'dance' is no task"),
        (("page", "waves", 0, "tasks", 0, "task"), "dance: mail", "'dance: mail' is no task"),
        (("page", "waves", 0, "levels_dba"), [["sofa", 40]], "no listener called 'sofa'"),
        (("page", "waves", 0, "levels_dba"), [["desk"]], "expected a listener and a level"),
        (
            ("page", "done"),
            [{"number": 1, "tasks": [3], "at": None}],
            "page.done[0].tasks[0]: expected a text",
        ),
        (("page", "cycles"), None, "page.cycles: expected a list, found null"),
    ],
)
def test_a_file_that_is_no_order_is_told(
    tiny: Path, place: tuple[str | int, ...], value: Any, told: str
) -> None:
    """The place in the file, what is wrong, exit code 2, and nothing on stdout."""
    file = tiny.parent / "order.json"
    data = json.loads(file.read_text(encoding="utf-8"))
    inside = data
    for key in place[:-1]:
        inside = inside[key]
    inside[place[-1]] = value
    save(tiny, json.dumps(data))
    result = run("verify", tiny, tiny.parent / "plan.json", "--order", file)
    assert result.exit_code == ExitCode.BAD_INPUT
    assert told in " ".join(result.stderr.split())
    assert result.stdout == ""


def test_an_order_comes_back_as_it_was_written(tiny: Path) -> None:
    """Read again, it has the same tasks, machines and methods in the same waves."""
    site = load(tiny).site
    plan = read(site, json.loads((tiny.parent / "plan.json").read_text(encoding="utf-8")))
    (tiny.parent / "tiny.progress.yaml").unlink()
    page = json.loads(run("moves", tiny, tiny.parent / "plan.json", "--json").stdout)
    before, after = written(order(site, plan.state, hours=8.0)), read_order(site, page)
    assert [[(t.id, t.goal, t.method, round(t.hours, 2)) for t in wave.tasks] for wave in before.waves] == [
        [(t.id, t.goal, t.method, t.hours) for t in wave.tasks] for wave in after.waves
    ]
