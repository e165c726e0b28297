"""`quiet`: the ladder and the set, as text, facts and JSON."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema

from planner.cli.exit_codes import ExitCode
from planner.report.schemas import schema_of
from tests.cli.tiny import TINY, run, write_tiny

MEASURES = """\
measures:
  alder-fans: {target: alder, quieter: 12 dB, price: 40, hours: 2, cautions: [fan-swap]}
  birch-fans: {target: birch, quieter: 12 dB, price: 35, hours: 2, cautions: [fan-swap]}
  mat: {target: portable-ac, quieter: 2 dB, price: 20}
"""
LADDER = TINY + MEASURES
GUESSED = LADDER.replace("sound: {idle: 66 dB, loaded: 68 dB}", "sound: {class: rack_2u}")


def test_json_keeps_its_schema(tmp_path: Path) -> None:
    """Every field that the schema promises, and nothing else."""
    result = run("quiet", write_tiny(tmp_path, LADDER), "--json")
    assert result.exit_code == ExitCode.DONE
    data = json.loads(result.stdout)
    jsonschema.Draft202012Validator(schema_of("quiet")).validate(data)
    assert [rung["measures"] for rung in data["page"]["rungs"]] == [["alder-fans"], ["birch-fans"], ["mat"]]


def test_text_shows_levels_money_cautions_and_the_proven_set(tmp_path: Path) -> None:
    """Each rung with its level before and after, what it costs, its caution, and what leads next."""
    result = run("quiet", write_tiny(tmp_path, LADDER))
    for words in ("1. alder-fans on alder", "alder leads at desk, then birch", "40 EUR, 2 h of work"):
        assert words in result.stdout
    assert "cheapest set" in result.stdout
    assert "proven" in result.stdout
    assert "Log processor and disk temperatures" in " ".join(result.stdout.split())


def test_plain_has_one_fact_a_line(tmp_path: Path) -> None:
    """For screen readers and logs."""
    lines = run("quiet", write_tiny(tmp_path, LADDER), "--plain").stdout.splitlines()
    assert "rung 1: alder-fans on alder" in lines
    assert any(text.startswith("rung 1: desk 71 dBA") for text in lines)


def test_a_level_that_rests_on_a_class_is_marked(tmp_path: Path) -> None:
    """Assumed shows in text, facts and JSON alike."""
    file = write_tiny(tmp_path, GUESSED)
    assert "dBA*" in run("quiet", file).stdout
    assert "dBA (assumed)" in run("quiet", file, "--plain").stdout
    level = json.loads(run("quiet", file, "--json").stdout)["page"]["rungs"][0]["levels"][0]
    assert level["before_assumed"] is True


def test_the_machines_of_a_plan_are_quieted(tmp_path: Path) -> None:
    """With PLAN the ladder starts from the plan's machines."""
    file, plan = write_tiny(tmp_path, LADDER), tmp_path / "plan.json"
    assert run("plan", file, "-o", plan).exit_code == ExitCode.DONE
    result = run("quiet", file, plan, "--json")
    page = json.loads(result.stdout)["page"]
    assert page["start"] == "machines of plan.json"


def test_a_plan_of_another_site_is_refused(tmp_path: Path) -> None:
    """It names what this inventory does not have."""
    file, plan = write_tiny(tmp_path, LADDER), tmp_path / "plan.json"
    run("plan", file, "-o", plan)
    other = tmp_path / "other.yaml"
    other.write_text(LADDER.replace("quiet-host", "calm-host"), encoding="utf-8")
    assert run("quiet", other, plan).exit_code == ExitCode.BAD_INPUT
