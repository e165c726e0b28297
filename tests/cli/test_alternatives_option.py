"""`plan --alternatives`: plans nearly as good, as text, facts and JSON."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from planner.cli.exit_codes import ExitCode
from planner.report.schemas import schema_of
from tests.cli.tiny import TINY, run, write_tiny

APPLIANCE = """\
  small-box:
    role: appliance
    cores: 4
    memory: 16 GiB
    disks: {count: 1, size: 2 TB}
    power: {idle: 16 W, peak: 44 W}
    sound: {idle: 26 dB, loaded: 30 dB}
    price: 450
    hours: 2
    up_to: 2
"""
RICH = TINY + APPLIANCE


def test_json_keeps_its_schema(tmp_path: Path) -> None:
    """The alternatives are part of the plan's JSON, null where none were asked for."""
    file = write_tiny(tmp_path, RICH)
    for arguments in (("--alternatives", "3"), ()):
        data = json.loads(run("plan", file, "--json", *arguments).stdout)
        jsonschema.Draft202012Validator(schema_of("plan")).validate(data)
        assert (data["alternatives"] is None) == (arguments == ())


def test_an_alternative_says_what_it_decides_otherwise(tmp_path: Path) -> None:
    """In the page's words, with figures and what is proven, 80 columns wide."""
    result = run("plan", write_tiny(tmp_path, RICH), "--alternatives", "3")
    assert result.exit_code == ExitCode.DONE
    section = result.stdout.split("Alternatives within the margins")[1]
    assert max(map(len, section.splitlines())) <= 80
    assert "no louder; at most 5 % more power" in " ".join(section.split())


def test_facts_and_a_saved_plan_carry_them(tmp_path: Path) -> None:
    """One fact a line; a plan saved with its alternatives is read again like any other."""
    file, plan = write_tiny(tmp_path, RICH), tmp_path / "plan.json"
    lines = run("plan", file, "--alternatives", "2", "--plain", "-o", plan).stdout.splitlines()
    assert any(text.startswith("alternatives: ") for text in lines)
    assert run("verify", file, plan).exit_code == ExitCode.DONE


@pytest.mark.parametrize("count", ["-1", "6", "many"])
def test_from_none_to_five(count: str, tmp_path: Path) -> None:
    """Other numbers are bad usage."""
    assert run("plan", write_tiny(tmp_path), "--alternatives", count).exit_code == ExitCode.BAD_INPUT


def test_a_confidence_is_no_hindrance(tmp_path: Path) -> None:
    """Where a target is to be met with 80 %, alternatives are looked for too, and keep it so surely."""
    sure = RICH.replace("target: 45 dBA", "target: 45 dBA, confidence: 80 %")
    file, plan = write_tiny(tmp_path, sure), tmp_path / "plan.json"
    result = run("plan", file, "--alternatives", "2", "-o", plan)
    assert result.exit_code == ExitCode.DONE
    assert "Alternatives within the margins" in result.stdout
    assert json.loads(plan.read_text(encoding="utf-8"))["alternatives"]["entries"]
