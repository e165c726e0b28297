"""`moves --reading`: kept beside the inventory, set against what was foretold, on every face."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from planner.cli.exit_codes import ExitCode
from planner.moves.tracking.progress_file import path_beside, read
from planner.report.schemas import schema_of
from tests.cli.tiny import TINY, run, write_tiny


@pytest.fixture
def tiny(tmp_path: Path) -> Path:
    """Make the tiny site with its plan, its order kept and the first wave done."""
    path = write_tiny(tmp_path, TINY)
    assert run("plan", path, "-o", tmp_path / "plan.json").exit_code == ExitCode.DONE
    assert run("moves", path, tmp_path / "plan.json", "--done", "1").exit_code == ExitCode.DONE
    return path


def page(path: Path, *more: str) -> Any:
    """Run `moves --json` of the saved plan and give its page, which keeps its schema."""
    result = run("moves", path, path.parent / "plan.json", "--json", *more)
    assert result.exit_code == ExitCode.DONE, result.stderr
    data = json.loads(result.stdout)
    jsonschema.Draft202012Validator(schema_of("moves")).validate(data)
    return data["page"]


def test_a_reading_is_kept_and_set_against_what_was_foretold(tiny: Path) -> None:
    """All three figures come back with their difference, now and the next time."""
    said = ("--reading", "1", "--dba", "90", "--watts", "1500", "--celsius", "24", "--season", "summer")
    entry = page(tiny, *said, "--note", "door shut")["readings"][0]
    assert (entry["wave"], entry["season"], entry["season_said"], entry["note"]) == (
        1,
        "summer",
        True,
        "door shut",
    )
    figures = {item["what"]: item for item in entry["figures"]}
    assert set(figures) == {"desk", "draw", "room"}
    for item in figures.values():
        assert item["difference"] == pytest.approx(item["read"] - item["foretold"], abs=0.06)
    assert not figures["desk"]["within"]
    assert "one more source would have to bring" in figures["desk"]["words"][0]
    assert page(tiny)["readings"] == [entry]
    kept = yaml.safe_load(path_beside(tiny).read_text(encoding="utf-8"))["readings"]
    assert kept[0]["dba"] == {"desk": 90.0}
    assert kept[0]["season"] == "summer"


def test_the_text_shows_a_table_and_says_what_to_look_for(tiny: Path) -> None:
    """Within 80 columns; the plain face has one fact a line."""
    plan = tiny.parent / "plan.json"
    shown = run("moves", tiny, plan, "--reading", "1", "--dba", "desk=90").stdout
    assert "Read against foretold" in shown
    assert "after wave 1, taken for summer" in shown
    assert max(map(len, shown.splitlines())) <= 80
    facts = run("moves", tiny, plan, "--plain").stdout.splitlines()
    assert any(line.startswith("read after wave 1, desk: 90.0 dBA, foretold ") for line in facts)


def test_today_may_be_read_before_the_first_wave(tiny: Path) -> None:
    """Wave 0 is today; a level out of its band belongs into the inventory."""
    words = page(tiny, "--reading", "0", "--dba", "30")["readings"][0]["figures"][0]["words"]
    assert any(word.startswith("write it under 'readings' in the inventory") for word in words)
    assert words[-1].endswith("dBA in the end, target 45")


def test_a_wave_may_be_marked_and_read_in_one_go(tiny: Path) -> None:
    """And what was read of a wave that is rolled back is not shown any more, but kept."""
    assert [
        item["wave"] for item in page(tiny, "--done", "2", "--reading", "2", "--watts", "700")["readings"]
    ] == [2]
    assert page(tiny, "--rolled-back", "2")["readings"] == []
    assert len(read(path_beside(tiny)).readings) == 1


@pytest.mark.slow
@pytest.mark.parametrize(
    ("options", "told"),
    [
        (["--dba", "40"], "--dba belongs to a reading: say after which wave"),
        (["--reading", "1"], "--reading has nothing read"),
        (["--reading", "1", "--season", "summer"], "--reading has nothing read"),
        (["--reading", "2", "--watts", "700"], "wave 2 is not done; mark it with --done 2"),
        (["--reading", "1", "--dba", "dsek=40"], "no listener called 'dsek'; did you mean 'desk'?"),
        (["--reading", "1", "--dba", "desk=loud"], "'loud' is no number of dBA"),
        (["--reading", "1", "--dba", "400"], "--dba 400: expected 0 to 140 dBA"),
        (["--reading", "1", "--watts", "nan"], "--watts nan: expected 0 to"),
        (["--reading", "1", "--celsius", "230"], "--celsius 230: expected -30 to 80 °C"),
        (["--reading", "1", "--watts", "700", "--season", "spring"], "no season called 'spring'"),
    ],
)
def test_a_reading_that_cannot_be_is_refused(tiny: Path, options: list[str], told: str) -> None:
    """A sentence, exit code 2, nothing on stdout, and the progress as it was."""
    before = path_beside(tiny).read_bytes()
    result = run("moves", tiny, tiny.parent / "plan.json", *options)
    assert result.exit_code == ExitCode.BAD_INPUT
    assert told in " ".join(result.stderr.split())
    assert result.stdout == ""
    assert path_beside(tiny).read_bytes() == before


def test_a_broken_reading_in_the_file_is_told(tiny: Path) -> None:
    """File, place, and what is wrong."""
    path = path_beside(tiny)
    for line, told in (
        ("dba: 3", "'dba' has a level for each listener"),
        ("watts: many", "'watts' is a number"),
    ):
        text = f"readings:\n- {{wave: 0, at: '2027-03-06T13:00:00+00:00', tasks: [], {line}}}\n"
        path.write_text(f"format: stillroom.progress\nversion: 1\nmarks: []\n{text}", encoding="utf-8")
        result = run("moves", tiny, tiny.parent / "plan.json")
        assert result.exit_code == ExitCode.BAD_INPUT
        assert f"reading 1: {told}" in " ".join(result.stderr.split())
