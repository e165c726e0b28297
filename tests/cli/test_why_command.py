"""`why`: where a service goes, and each machine it could be on, as text, facts and JSON."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema

from planner.cli.exit_codes import ExitCode
from planner.report.schemas import schema_of
from tests.cli.test_alternatives_option import RICH
from tests.cli.tiny import run, write_tiny


def test_every_machine_is_told_of(tmp_path: Path) -> None:
    """Planned, possible with its differences, forbidden with its reason; 80 columns wide."""
    result = run("why", write_tiny(tmp_path, RICH), "files")
    assert result.exit_code == ExitCode.DONE
    assert max(map(len, result.stdout.splitlines())) <= 80
    text = " ".join(result.stdout.split())
    assert "alder -> " in text
    assert text.count(": as planned") == 1
    assert "✖ birch: left as they are, they take no service from elsewhere" in text
    assert " W, " in text
    assert " dBA at desk" in text


def test_json_keeps_its_schema_and_adds_up(tmp_path: Path) -> None:
    """The difference is that of two plans: the one forced by the rule in the file, and the plan."""
    file, plan = write_tiny(tmp_path, RICH), tmp_path / "plan.json"
    assert run("plan", file, "-o", plan).exit_code == ExitCode.DONE
    data = json.loads(run("why", file, "files", plan, "--json").stdout)
    jsonschema.Draft202012Validator(schema_of("why")).validate(data)
    stays = next(item for item in data["page"]["places"] if item["machine"] == "alder")
    ruled = tmp_path / "ruled.yaml"
    ruled.write_text(RICH.replace("{box: alder,", "{box: alder, stay_on: alder,"), encoding="utf-8")
    after = json.loads(run("plan", ruled, "--json").stdout)
    before = json.loads(plan.read_text(encoding="utf-8"))
    if stays["verdict"] == "planned":
        assert after["aims"] == before["aims"]
        return
    power = [next(a["value"] for a in d["aims"] if a["aim"] == "power") for d in (after, before)]
    assert abs(stays["power_more_w"] - (power[0] - power[1])) < 0.1


def test_facts_and_mistakes(tmp_path: Path) -> None:
    """One fact a line; a service that there is not is told with those that there are."""
    file = write_tiny(tmp_path, RICH)
    lines = run("why", file, "mail", "--plain").stdout.splitlines()
    assert all(text.startswith("service mail") for text in lines)
    wrong = run("why", file, "male")
    assert wrong.exit_code == ExitCode.BAD_INPUT
    assert "there is no service male; there are: files, mail" in wrong.stderr
