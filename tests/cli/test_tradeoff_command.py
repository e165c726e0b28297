"""`tradeoff`: the front as text, facts, JSON and CSV."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import jsonschema
import pytest

from planner.cli.exit_codes import ExitCode
from planner.report.schemas import schema_of
from planner.report.tradeoff.text import harmless
from tests.cli.tiny import TINY, run, write_tiny

MEASURES = """\
measures:
  alder-fans: {target: alder, quieter: 12 dB, price: 40, hours: 2, cautions: [fan-swap]}
  birch-fans: {target: birch, quieter: 12 dB, price: 35, hours: 2, cautions: [fan-swap]}
"""
RICH = TINY + MEASURES


def test_json_keeps_its_schema(tmp_path: Path) -> None:
    """Every field that the schema promises, and nothing else; one point is recommended."""
    result = run("tradeoff", write_tiny(tmp_path, RICH), "--json")
    assert result.exit_code == ExitCode.DONE
    data = json.loads(result.stdout)
    jsonschema.Draft202012Validator(schema_of("tradeoff")).validate(data)
    points = data["page"]["points"]
    assert len(points) > 2
    assert sum(point["recommended"] for point in points) == 1
    assert all(point["proven"] for point in points)


def test_text_fits_80_columns_and_recommends(tmp_path: Path) -> None:
    """A table and a sentence that says why."""
    result = run("tradeoff", write_tiny(tmp_path, RICH))
    assert max(map(len, result.stdout.splitlines())) <= 80
    words = " ".join(result.stdout.split())
    assert "proven to be all there are" in words
    assert "Recommended: point" in words
    assert "nearest to the best of all three" in words


def test_no_point_is_beaten(tmp_path: Path) -> None:
    """No point of the table is as good as another in all three."""
    data = json.loads(run("tradeoff", write_tiny(tmp_path, RICH), "--json").stdout)
    values = [(p["sound_db"], p["power_w"], p["cost"]) for p in data["page"]["points"]]
    for value in values:
        others = [other for other in values if other != value]
        assert not any(all(a <= b for a, b in zip(o, value, strict=True)) for o in others)


def test_csv_to_stdout_and_to_a_file(tmp_path: Path) -> None:
    """The same table either way; beside the file the page is shown as usual."""
    path, target = write_tiny(tmp_path, RICH), tmp_path / "front.csv"
    out = run("tradeoff", path, "--csv", "-").stdout
    shown = run("tradeoff", path, "--csv", target)
    assert target.read_text(encoding="utf-8") == out
    assert "Recommended" in shown.stdout
    rows = list(csv.DictReader(io.StringIO(out)))
    assert {row["proven"] for row in rows} == {"yes"}
    assert [row["recommended"] for row in rows].count("yes") == 1


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t"])
def test_no_cell_is_a_formula(start: str) -> None:
    """A name that a spreadsheet would take for a formula is made a text; others stay as they are."""
    assert not harmless(f"{start}1+1").startswith(("=", "+", "-", "@", "\t"))
    assert harmless("quiet-host") == "quiet-host"


def test_a_listener_named_like_a_formula_stays_a_name(tmp_path: Path) -> None:
    """Names come from the file, and go into the table's head."""
    odd = RICH.replace("  desk:", "  '=1+1':")
    head = run("tradeoff", write_tiny(tmp_path, odd), "--csv", "-").stdout.splitlines()[0]
    assert "'=1+1 (dBA)" in head


def test_part_of_a_front_ends_with_3(tmp_path: Path) -> None:
    """Fewer points than there are: the exit code and the text say that it is a part."""
    result = run("tradeoff", write_tiny(tmp_path, RICH), "--points", "2")
    assert result.exit_code == ExitCode.STOPPED_WITH_PLAN
    assert "not searched yet" in " ".join(result.stdout.split())


def test_absolute_levels(tmp_path: Path) -> None:
    """With --absolute the scale is dBA, and no target is spoken of."""
    out = run("tradeoff", write_tiny(tmp_path, RICH), "--absolute", "--plain").stdout
    assert "dBA at the loudest listener" in out


def test_plain_has_one_fact_a_line(tmp_path: Path) -> None:
    """For screen readers and logs."""
    lines = run("tradeoff", write_tiny(tmp_path, RICH), "--plain").stdout.splitlines()
    assert lines[0] == "site: Two rooms"
    assert any(text.startswith("recommended: point ") for text in lines)


def test_stdout_is_filled_once(tmp_path: Path) -> None:
    """CSV and JSON cannot both go to stdout."""
    result = run("tradeoff", write_tiny(tmp_path), "--csv", "-", "--json")
    assert result.exit_code == ExitCode.BAD_INPUT
    assert result.stdout == ""


def test_a_site_without_a_plan_says_why(tmp_path: Path) -> None:
    """Exit code 1, with the reasons."""
    text = TINY.replace("memory: 4 GiB, disk: 300 GB", "memory: 400 GiB, disk: 300 GB")
    text = text.replace("files: {box: alder", "files: {box: alder, zone: here")
    result = run("tradeoff", write_tiny(tmp_path, text), "--plain")
    assert result.exit_code == ExitCode.NO_PLAN_EXISTS
    assert "reason: " in result.stdout
