"""`check`, `moves`, `verify` and `schema`: what they write and how they end."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from planner.cli.exit_codes import ExitCode
from planner.cli.group import COMMANDS
from planner.report.schemas import NAMES, schema_of
from tests.cli.tiny import TINY, run, write_tiny


@pytest.fixture
def plan_file(tmp_path: Path) -> Path:
    """Make a saved plan of the tiny site."""
    target = tmp_path / "plan.json"
    assert run("plan", write_tiny(tmp_path), "-o", target).exit_code == ExitCode.DONE
    return target


def _edit(path: Path, change: dict[str, Any]) -> None:
    data = json.loads(path.read_text(encoding="utf-8"))
    data.update(change)
    path.write_text(json.dumps(data), encoding="utf-8")


@pytest.mark.parametrize("name", NAMES)
def test_schema_of_every_output_is_a_schema(name: str) -> None:
    """Each is valid JSON Schema of 2020-12, printed by `schema NAME`."""
    result = run("schema", name)
    assert result.exit_code == ExitCode.DONE
    jsonschema.Draft202012Validator.check_schema(json.loads(result.stdout))


def test_schema_without_a_name_is_the_inventorys() -> None:
    """What an editor wants is the inventory's schema."""
    schema = json.loads(run("schema").stdout)
    jsonschema.Draft202012Validator.check_schema(schema)
    assert {"boxes", "services"} <= set(schema["properties"])


@pytest.mark.parametrize("text", [TINY, TINY.replace("cores: 8", "cores: many")])
def test_check_json_keeps_its_schema(text: str, tmp_path: Path) -> None:
    """For a good file and for a bad one."""
    data = json.loads(run("check", write_tiny(tmp_path, text), "--json").stdout)
    jsonschema.Draft202012Validator(schema_of("check")).validate(data)


def test_check_shows_defaults_and_assumptions(tmp_path: Path) -> None:
    """What the file leaves out is listed with the value taken."""
    result = run("check", write_tiny(tmp_path))
    assert result.exit_code == ExitCode.DONE
    assert "policy.inlet_limit: 27 °C" in result.stdout
    assert "surfaces" in result.stdout


def test_verify_passes_what_plan_saved(plan_file: Path) -> None:
    """A plan that was just made keeps every rule."""
    result = run("verify", plan_file.parent / "tiny.yaml", plan_file, "--json")
    data = json.loads(result.stdout)
    jsonschema.Draft202012Validator(schema_of("verify")).validate(data)
    assert result.exit_code == ExitCode.DONE
    assert data["holds"]


def test_verify_tells_a_plan_from_a_lie(plan_file: Path) -> None:
    """A value that the state does not add up to is a breach: exit code 2, told with its rule."""
    aims = json.loads(plan_file.read_text(encoding="utf-8"))["aims"]
    aims[1]["value"] = aims[1]["bound"] = 1.0
    _edit(plan_file, {"aims": aims})
    result = run("verify", plan_file.parent / "tiny.yaml", plan_file, "--json")
    data = json.loads(result.stdout)
    jsonschema.Draft202012Validator(schema_of("verify")).validate(data)
    assert result.exit_code == ExitCode.BAD_INPUT
    assert not data["holds"]
    assert run("moves", plan_file.parent / "tiny.yaml", plan_file).exit_code == ExitCode.BAD_INPUT


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b"\xff\xfe", b'{"format": "x"}', b"[" * 100_000])
@pytest.mark.parametrize("command", ["verify", "moves"])
def test_what_is_no_plan_file_is_refused(content: bytes, command: str, tmp_path: Path) -> None:
    """A sentence with the file's name, exit code 2, nothing on stdout."""
    path, bad = write_tiny(tmp_path), tmp_path / "bad.json"
    bad.write_bytes(content)
    result = run(command, path, bad)
    assert result.exit_code == ExitCode.BAD_INPUT
    assert result.stdout == ""
    assert "bad.json" in result.stderr


def test_moves_of_a_saved_plan(plan_file: Path) -> None:
    """Every service that changes place is moved in some wave, and the JSON keeps its schema."""
    result = run("moves", plan_file.parent / "tiny.yaml", plan_file, "--json")
    data = json.loads(result.stdout)
    jsonschema.Draft202012Validator(schema_of("moves")).validate(data)
    moved = {
        task["subject"] for wave in data["page"]["waves"] for task in wave["tasks"] if task["sort"] == "move"
    }
    assert result.exit_code == ExitCode.DONE
    assert moved == {"files", "mail"}


def test_moves_plans_first_when_no_plan_is_given(plan_file: Path) -> None:
    """The waves are those of the saved plan, for the plan is the same."""
    path = plan_file.parent / "tiny.yaml"
    assert run("moves", path).stdout == run("moves", path, plan_file).stdout


def test_moves_text_fits_80_columns(plan_file: Path) -> None:
    """So that a page can be printed and ticked off."""
    out = run("moves", plan_file.parent / "tiny.yaml", plan_file).stdout
    assert max(map(len, out.splitlines())) <= 80
    assert "[ ] " in out


def test_every_command_has_help() -> None:
    """`--help` of each command ends with 0."""
    for name in COMMANDS:
        assert run(name, "--help").exit_code == ExitCode.DONE


def test_help_lists_every_command() -> None:
    """The group's help names all of them."""
    out = run("--help").stdout
    assert all(name in out for name in COMMANDS)
