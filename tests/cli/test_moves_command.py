"""`moves`: dates, papers, marks on waves, and how it ends where no order is possible."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import jsonschema
import pytest
from icalendar import Calendar

from planner.cli import solving
from planner.cli.exit_codes import ExitCode
from planner.moves.tasks.progress import Mark
from planner.moves.tracking.progress_file import path_beside, read
from planner.report.schemas import schema_of
from planner.verify import Breach
from tests.cli.tiny import TINY, run, write_tiny

WINDOWS = "windows:\n  timezone: Europe/Vienna\n  weekly: [{day: saturday, from: 08:00, hours: 8}]\n"
START = "  start_date: 2027-03-01\n"


@pytest.fixture
def tiny(tmp_path: Path) -> Path:
    """Make the tiny site with a window a week and its saved plan beside it."""
    path = write_tiny(tmp_path, TINY + WINDOWS)
    assert run("plan", path, "-o", tmp_path / "plan.json").exit_code == ExitCode.DONE
    return path


def moves(path: Path, *more: str | Path) -> Any:
    """Run `moves` of the saved plan and give its JSON page, which keeps its schema."""
    result = run("moves", path, path.parent / "plan.json", "--json", *more)
    assert result.exit_code == ExitCode.DONE, result.stderr
    data = json.loads(result.stdout)
    jsonschema.Draft202012Validator(schema_of("moves")).validate(data)
    return data["page"]


def numbers(page: Any) -> list[int]:
    """List the numbers of the waves of a page."""
    return [wave["number"] for wave in page["waves"]]


def test_without_a_first_day_there_are_no_dates(tiny: Path) -> None:
    """Waves without dates say what to give for dates; nothing is written beside the inventory."""
    page = moves(tiny)
    assert page["timezone"] is None
    assert {wave["start"] for wave in page["waves"]} == {None}
    assert "give --start" in run("moves", tiny, tiny.parent / "plan.json").stdout
    assert not path_beside(tiny).exists()


def test_a_first_day_gives_proven_dates_in_the_windows(tiny: Path) -> None:
    """Each wave is on a Saturday at eight in Vienna, summer time or not."""
    page = moves(tiny, "--start", "2027-03-15")
    assert page["schedule"]["outcome"] == "proven"
    assert page["timezone"] == "Europe/Vienna"
    starts = [wave["start"] for wave in page["waves"]]
    assert starts[0] == "2027-03-20T08:00:00+01:00"
    assert all("T08:00:00" in start for start in starts)
    assert starts[-1].endswith("+02:00")


def test_the_first_day_may_stand_in_the_file(tmp_path: Path) -> None:
    """As `start_date` under `windows`."""
    path = write_tiny(tmp_path, TINY + WINDOWS + START)
    result = run("moves", path)
    assert result.exit_code == ExitCode.DONE
    assert "from Sat 2027-03-06 to " in result.stdout
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_both_curves_of_noise_are_in_the_json(tiny: Path) -> None:
    """The order's mean level is not above that of the plain order, and both end in the same room."""
    course = moves(tiny)["over_time"]
    chosen, plain = course["chosen"], course["plain"]
    assert chosen["points"][-1]["levels_dba"] == plain["points"][-1]["levels_dba"]
    assert chosen["mean_loudness"] <= plain["mean_loudness"] + 1e-9
    hours = [point["hours"] for point in chosen["points"]]
    assert hours == sorted(hours)


def test_papers_are_written_and_the_order_is_kept(tiny: Path) -> None:
    """Runbook, calendar and both graphs read back; the same order is shown from then on."""
    folder = tiny.parent
    files = [folder / name for name in ("run.md", "moves.ics", "moves.svg")]
    page = moves(
        tiny, "--start", "2027-03-01", "--markdown", files[0], "--ics", files[1], "--graph", files[2]
    )
    assert files[0].read_text(encoding="utf-8").count("## Wave ") == len(page["waves"])
    entries = Calendar.from_ical(files[1].read_bytes()).walk("VEVENT")
    assert sum(str(entry["summary"]).startswith("Wave") for entry in entries) == len(page["waves"])
    assert ElementTree.fromstring(files[2].read_text(encoding="utf-8")).tag.endswith("svg")
    assert moves(tiny) == {**page, "schedule": None}
    dot = folder / "moves.dot"
    moves(tiny, "--graph", dot)
    assert re.search(r'"bring in: \S+" -> "prepare: ', dot.read_text(encoding="utf-8"))


def test_the_runbook_on_stdout_is_all_there_is(tiny: Path) -> None:
    """It can go straight to another program."""
    result = run("moves", tiny, tiny.parent / "plan.json", "--markdown", "-")
    assert result.exit_code == ExitCode.DONE
    assert result.stdout.startswith("# Runbook: Two rooms")
    assert "- [ ] " in result.stdout


def test_marks_lead_through_the_whole_course(tiny: Path) -> None:
    """Done, failed and done again, rolled back: the rest is always what does not stand, in later windows."""
    whole = moves(tiny, "--start", "2027-03-01", "--keep")
    first, second = whole["waves"][:2]
    rest = moves(tiny, "--done", "1")
    assert numbers(rest) == numbers(whole)[1:]
    assert [item["tasks"] for item in rest["done"]] == [[task["task"] for task in first["tasks"]]]
    failed = moves(tiny, "--failed", "2", "--note", "the restore was not readable")
    assert failed["waves"][0]["number"] == 2
    assert failed["waves"][0]["start"] > second["start"]
    assert len(moves(tiny, "--rolled-back", "1")["done"]) == 0
    kept = read(path_beside(tiny))
    assert [entry.mark for entry in kept.entries] == [Mark.DONE, Mark.FAILED, Mark.ROLLED_BACK]
    assert kept.entries[1].note == "the restore was not readable"


def test_a_moved_wave_waits_for_its_day(tiny: Path) -> None:
    """What hangs on it waits too."""
    moves(tiny, "--start", "2027-03-01", "--keep")
    page = moves(tiny, "--moved", "1", "2027-05-01")
    assert page["waves"][0]["start"] >= "2027-05-01"


def test_everything_done_is_said(tiny: Path) -> None:
    """The last mark leaves nothing to do."""
    count = len(moves(tiny, "--start", "2027-03-01", "--keep")["waves"])
    for number in range(1, count + 1):
        moves(tiny, "--done", str(number))
    assert "nothing is left to do" in run("moves", tiny, tiny.parent / "plan.json").stdout


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (["--done", "2"], "mark the waves in their order"),
        (["--done", "99"], "there is no wave 99; there are waves 1 to"),
        (["--done", "1", "--failed", "2"], "one of them at a time"),
        (["--moved", "1", "2027-05-01"], "the order has no dates to move"),
        (["--ics", "x.ics"], "a calendar needs dates"),
        (["--graph", "x.png"], "the graph is drawn as .svg or .dot"),
        (["--markdown", "-", "--json"], "--markdown - fills stdout"),
        (["--markdown", "tiny.yaml"], "is what the plan is made from"),
        (["--markdown", "x.md", "--graph", "no/where.svg"], "is no directory"),
        (["--done", "1", "--start", "2027-03-01"], "no order is kept that the mark could speak of"),
    ],
)
def test_what_cannot_be_is_refused(
    tiny: Path, options: list[str], told: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A sentence, exit code 2, nothing on stdout, and no file written."""
    monkeypatch.chdir(tiny.parent)
    before = sorted(tiny.parent.iterdir())
    result = run("moves", tiny, tiny.parent / "plan.json", *options)
    assert result.exit_code == ExitCode.BAD_INPUT
    assert told in " ".join(result.stderr.split())
    assert result.stdout == ""
    assert sorted(tiny.parent.iterdir()) == before


@pytest.mark.parametrize("text", ["[", "format: other\n", "format: stillroom.progress\nversion: 1\n"])
def test_a_progress_file_that_is_none_is_told(tiny: Path, text: str) -> None:
    """With its name and the line, and how to begin anew without losing it."""
    path_beside(tiny).write_text(text, encoding="utf-8")
    result = run("moves", tiny, tiny.parent / "plan.json")
    assert result.exit_code == ExitCode.BAD_INPUT
    assert "tiny.progress.yaml" in result.stderr
    assert "mend it, or move it away to begin anew" in " ".join(result.stderr.split())


def test_what_can_be_read_of_a_broken_progress_file_is_kept_aside(tiny: Path) -> None:
    """One mark is whole, the next has a list that never ends: its line is named, the whole one kept."""
    broken = (
        "format: stillroom.progress\nversion: 1\nmarks:\n"
        "- {wave: 1, mark: done, at: '2027-03-06T13:00:00+00:00', tasks: ['bring in: host-1']}\n"
        "- {wave: 2, mark: done, at: '2027-03-13T13:00:00+00:00', tasks: ['move: mail'\n"
        "- {wave: 3, mark: done, at: '2027-03-20T13:00:00+00:00', tasks: ['move: files']}\n"
    )
    path_beside(tiny).write_text(broken, encoding="utf-8")
    result = run("moves", tiny, tiny.parent / "plan.json")
    words = " ".join(result.stderr.split())
    assert result.exit_code == ExitCode.BAD_INPUT
    assert "tiny.progress.yaml, line 6: is no YAML" in words
    assert "look through tiny.progress.readable.yaml, which keeps what can be read of it (marks: 1" in words
    assert path_beside(tiny).read_text(encoding="utf-8") == broken
    kept = read(tiny.with_name("tiny.progress.readable.yaml"))
    assert [entry.tasks for entry in kept.entries] == [("bring in: host-1",)]


def test_a_mark_is_refused_where_another_run_has_written_meanwhile(
    tiny: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between reading and writing of the second run the first one writes: its mark stays."""
    search, marks = solving.search, list[int]()

    def meanwhile(work: str, *given: object, **named: Any) -> tuple[Any, str]:
        if not marks:
            marks.append(1)
            assert (
                run("moves", tiny, tiny.parent / "plan.json", "--done", "1", "--note", "first").exit_code == 0
            )
        return search(work, *given, **named)

    monkeypatch.setattr(solving, "search", meanwhile)
    result = run("moves", tiny, tiny.parent / "plan.json", "--done", "1", "--note", "second")
    assert result.exit_code == ExitCode.BAD_INPUT
    assert "was written by somebody else meanwhile" in " ".join(result.stderr.split())
    assert [entry.note for entry in read(path_beside(tiny)).entries] == ["first"]


def test_marks_of_another_plan_are_told(tiny: Path) -> None:
    """They name the first task that this plan does not have."""
    path_beside(tiny).write_text(
        "format: stillroom.progress\nversion: 1\nmarks:\n"
        "- {wave: 1, mark: done, at: '2027-03-06T13:00:00+00:00', tasks: ['move: gone']}\n",
        encoding="utf-8",
    )
    result = run("moves", tiny, tiny.parent / "plan.json")
    assert result.exit_code == ExitCode.BAD_INPUT
    assert "belongs to another plan: it has 'move: gone'" in result.stderr


def test_an_order_the_judge_rejects_is_never_shown(tiny: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is our own mistake: 70, and not a line of it on stdout."""
    search = solving.search

    def blamed(*given: Any, **named: Any) -> tuple[Any, str]:
        found, ended_by = search(*given, **named)
        return replace(found, breaches=(Breach("rack", "rack", "too full"),)), ended_by

    monkeypatch.setattr(solving, "search", blamed)
    result = run("moves", tiny, tiny.parent / "plan.json")
    assert result.exit_code == ExitCode.INTERNAL_ERROR
    assert result.stdout == ""
    assert "the judge rejects the order of moves: rack, rack: too full" in result.stderr


def test_where_no_order_is_possible_the_way_out_is_named(tmp_path: Path) -> None:
    """Windows of one hour are too short for any move: exit code 1, what breaks, and what would do."""
    short = WINDOWS.replace("hours: 8", "hours: 1") + START
    path = write_tiny(tmp_path, TINY + short)
    result = run("moves", path)
    assert result.exit_code == ExitCode.NO_PLAN_EXISTS
    assert "no order keeps every limit on the way" in result.stdout
    assert "give it a window of" in " ".join(result.stdout.split())
    assert "Wave 1" not in result.stdout
