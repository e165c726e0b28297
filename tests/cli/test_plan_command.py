"""`stillroom plan`: what it writes, where, and with which exit code."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from planner.cli import solving
from planner.cli.exit_codes import ExitCode
from planner.domain.plan import Outcome
from planner.placement import worker
from planner.placement.result import Result
from planner.report.schemas import schema_of
from planner.verify import Breach
from tests.cli.tiny import TINY, run, write_tiny


def planned(tmp_path: Path, *options: str) -> dict[str, Any]:
    """Plan the tiny site and give the JSON."""
    result = run("plan", write_tiny(tmp_path), "--json", *options)
    assert result.exit_code == ExitCode.DONE, result.stderr
    data: dict[str, Any] = json.loads(result.stdout)
    return data


def test_json_keeps_its_schema(tmp_path: Path) -> None:
    """What `plan --json` writes is what `schema plan` describes, and nothing else."""
    data = planned(tmp_path)
    jsonschema.Draft202012Validator(schema_of("plan")).validate(data)
    assert (data["format"], data["version"]) == ("stillroom.plan", 1)


def test_verdicts_of_the_tiny_site(tmp_path: Path) -> None:
    """Both boxes at 60 dB and more have to go for 45 dBA at 2 m: their services become guests."""
    page = planned(tmp_path)["page"]
    assert {entry["verdict"] for entry in page["verdicts"]} == {"virtualise"}
    assert {"alder", "birch"} <= set(page["switch_off"])
    assert page["listeners"][0]["met"]


def test_same_input_and_seed_give_the_same_bytes(tmp_path: Path) -> None:
    """Nothing of the clock is in the output: stdout and the saved file are the same twice."""
    path, saved = write_tiny(tmp_path), [tmp_path / "one.json", tmp_path / "two.json"]
    outs = [run("plan", path, "--json", "--seed", "7", "-o", target).stdout_bytes for target in saved]
    assert outs[0] == outs[1]
    assert saved[0].read_bytes() == saved[1].read_bytes() == outs[0]


def test_seconds_go_to_stderr(tmp_path: Path) -> None:
    """The time taken is said on stderr, so that stdout stays the same."""
    result = run("plan", write_tiny(tmp_path))
    assert " s" in result.stderr
    assert "proven" in result.stderr
    assert result.stdout.startswith("Plan for Two rooms\n")


def test_text_keeps_to_80_columns(tmp_path: Path) -> None:
    """The page fits a terminal of 80 columns."""
    result = run("plan", write_tiny(tmp_path))
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_plain_is_one_fact_a_line(tmp_path: Path) -> None:
    """Each line says what it is about before a colon or a service's name; no line is empty or indented."""
    lines = run("plan", write_tiny(tmp_path), "--plain").stdout.splitlines()
    assert "service mail: virtualise, today on birch, then on quiet-host-1" in lines
    assert all(line and not line.startswith(" ") and ":" in line for line in lines)


def test_aims_in_the_order_given(tmp_path: Path) -> None:
    """`--aim` repeated gives the order, and only those aims are pursued."""
    proof = planned(tmp_path, "--aim", "cost", "--aim", "sound")["page"]["proof"]
    assert [entry["aim"] for entry in proof] == ["cost", "sound"]


def test_inventory_is_never_overwritten(tmp_path: Path) -> None:
    """`-o` on the inventory, also through a link, is refused before anything is done."""
    path = write_tiny(tmp_path)
    link = tmp_path / "link.json"
    link.symlink_to(path)
    for target in (path, link):
        result = run("plan", path, "-o", target)
        assert result.exit_code == ExitCode.BAD_INPUT
        assert result.stdout == ""
    assert path.read_text(encoding="utf-8") == TINY


def test_target_that_cannot_be_written_is_refused_first(tmp_path: Path) -> None:
    """A directory, or a file in a folder that is not there, is refused."""
    path = write_tiny(tmp_path)
    for target in (tmp_path, tmp_path / "none" / "plan.json"):
        assert run("plan", path, "-o", target).exit_code == ExitCode.BAD_INPUT
    assert sorted(os.listdir(tmp_path)) == ["tiny.yaml"]


def test_saving_replaces_and_leaves_nothing_beside(tmp_path: Path) -> None:
    """An older plan is replaced, and no temporary file stays."""
    path, target = write_tiny(tmp_path), tmp_path / "plan.json"
    target.write_text("old", encoding="utf-8")
    assert run("plan", path, "-o", target).exit_code == ExitCode.DONE
    assert json.loads(target.read_text(encoding="utf-8"))["format"] == "stillroom.plan"
    assert sorted(os.listdir(tmp_path)) == ["plan.json", "tiny.yaml"]


def test_no_plan_can_exist(tmp_path: Path) -> None:
    """A service that fits nowhere ends with 1 and is named with what it lacks; nothing is saved."""
    path = write_tiny(tmp_path, TINY.replace("memory: 4 GiB, disk: 300", "memory: 400 GiB, disk: 300"))
    target = tmp_path / "plan.json"
    result = run("plan", path, "--json", "-o", target)
    data = json.loads(result.stdout)
    jsonschema.Draft202012Validator(schema_of("plan")).validate(data)
    assert result.exit_code == ExitCode.NO_PLAN_EXISTS
    assert data["state"] is None
    assert any("files" in reason and "memory" in reason for reason in data["reasons"])
    assert not target.exists()
    assert "files" in run("plan", path).stdout


@pytest.mark.parametrize(
    ("outcome", "code"),
    [
        (Outcome.INFEASIBLE, ExitCode.NO_PLAN_EXISTS),
        (Outcome.STOPPED_EMPTY, ExitCode.STOPPED_EMPTY),
        (Outcome.FAILED, ExitCode.INTERNAL_ERROR),
    ],
)
def test_outcomes_without_a_plan(
    outcome: Outcome, code: ExitCode, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every outcome without a plan has its exit code, in text and in JSON."""
    monkeypatch.setattr(solving, "solve", lambda *_, **__: Result(outcome, None))
    for options in ([], ["--json"], ["--plain"]):
        assert run("plan", write_tiny(tmp_path), *options).exit_code == code
        assert run("moves", write_tiny(tmp_path), *options).exit_code == code


@pytest.mark.slow
@pytest.mark.parametrize(
    ("work", "code"),
    [("solved_until_killed", ExitCode.STOPPED_WITH_PLAN), ("dying", ExitCode.STOPPED_EMPTY)],
)
def test_a_lost_solver_leaves_its_plan_and_says_so(
    work: str, code: ExitCode, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A solver that is killed leaves the plan it had, checked and saved; how it ended is said."""
    monkeypatch.setattr(worker, "SOLVE", f"tests.kit.works:{work}")
    target = tmp_path / "plan.json"
    result = run("plan", write_tiny(tmp_path), "-o", target)
    assert result.exit_code == code
    words = " ".join(result.stdout.split())
    assert "the loss of the solver: its process ended by itself (signal 9)" in words
    assert "give --time more" not in words
    assert target.exists() == (code is ExitCode.STOPPED_WITH_PLAN)
    if target.exists():
        monkeypatch.undo()
        assert run("verify", tmp_path / "tiny.yaml", target).exit_code == ExitCode.DONE


def test_rejected_plan_is_never_shown(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A plan that the judge rejects is a bug of ours: 70, nothing on stdout, nothing saved."""
    monkeypatch.setattr(solving, "verify_plan", lambda *_: (Breach("heat", "summer", "too warm"),))
    target = tmp_path / "plan.json"
    result = run("plan", write_tiny(tmp_path), "-o", target)
    assert result.exit_code == ExitCode.INTERNAL_ERROR
    assert result.stdout == ""
    assert "too warm" in result.stderr
    assert not target.exists()


def test_our_own_mistake_shows_no_traceback(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An exception of ours becomes a sentence that says where to report it; the traceback is for who asks."""

    def broken(*_: object, **__: object) -> Result:
        raise ZeroDivisionError("secret")

    monkeypatch.setattr(solving, "solve", broken)
    monkeypatch.delenv("STILLROOM_DEBUG", raising=False)
    result = run("plan", write_tiny(tmp_path))
    assert result.exit_code == ExitCode.INTERNAL_ERROR
    assert "Traceback" not in result.stderr
    assert "report it" in result.stderr
    monkeypatch.setenv("STILLROOM_DEBUG", "1")
    assert "ZeroDivisionError" in run("plan", write_tiny(tmp_path)).stderr


def test_boxes_called_like_units_of_a_kind(tmp_path: Path) -> None:
    """Boxes host-1 and host-2 beside a kind called host: planned, saved, judged, told and moved to."""
    text = TINY.replace("alder", "host-1").replace("birch", "host-2").replace("quiet-host", "host")
    file, plan = write_tiny(tmp_path, text), tmp_path / "plan.json"
    assert run("plan", file, "-o", plan).exit_code == ExitCode.DONE
    data = json.loads(plan.read_text(encoding="utf-8"))
    names = {machine["name"]: machine["kind"] for machine in data["state"]["machines"]}
    assert names == {"host-3": "host"}
    for command in (("verify", file, plan), ("moves", file, plan), ("why", file, "files", plan)):
        assert run(*command).exit_code == ExitCode.DONE, command
    assert "host-3" in run("moves", file, plan).stdout
