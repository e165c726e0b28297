"""Plan files that a person has changed, through every command that takes one: refused with the place."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from planner.cli.exit_codes import ExitCode
from tests.cli.tiny import TINY, run, write_tiny

Data = dict[str, Any]
COMMANDS: dict[str, tuple[str, ...]] = {
    "verify": ("verify", "FILE", "PLAN"),
    "again": ("plan", "FILE", "--again", "PLAN"),
    "moves": ("moves", "FILE", "PLAN"),
    "quiet": ("quiet", "FILE", "PLAN"),
    "why": ("why", "FILE", "mail", "PLAN"),
}


@pytest.fixture(scope="module")
def saved(tmp_path_factory: pytest.TempPathFactory) -> Data:
    """Make the data of a saved plan of the tiny site."""
    folder = tmp_path_factory.mktemp("saved")
    assert run("plan", write_tiny(folder), "-o", folder / "plan.json").exit_code == ExitCode.DONE
    data: Data = json.loads((folder / "plan.json").read_text(encoding="utf-8"))
    return data


def _run(command: str, folder: Path, data: Data, text: str = TINY) -> Any:
    plan = folder / "plan.json"
    plan.write_text(json.dumps(data), encoding="utf-8")
    places = {"FILE": str(write_tiny(folder, text)), "PLAN": str(plan)}
    return run(*(places.get(word, word) for word in COMMANDS[command]))


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize(
    ("change", "where"),
    [
        (lambda data: data["page"]["payback"].update(outlay=float("inf")), "page.payback.outlay"),
        (lambda data: data["aims"][1].update(value=float("nan")), "aims[1].value"),
        (lambda data: data["aims"][1].update(value=10**400), "aims[1].value"),
        (lambda data: data.update(state=None), "state"),
        (lambda data: data["state"]["machines"][0].pop("role"), "state.machines[0].role"),
    ],
)
def test_figures_that_are_none_are_refused(
    change: Callable[[Data], object], where: str, command: str, saved: Data, tmp_path: Path
) -> None:
    """By every command, with the place, before anything is printed."""
    data = json.loads(json.dumps(saved))
    change(data)
    result = _run(command, tmp_path, data)
    assert result.exit_code == ExitCode.BAD_INPUT
    assert result.stderr.startswith(f"plan.json: {where}: ")
    assert result.stdout == ""


@pytest.mark.parametrize("command", ["verify", "moves", "quiet", "why"])
@pytest.mark.parametrize(
    ("change", "where"),
    [
        (lambda data: data.update(aims=[]), "aims"),
        (lambda data: data.pop("aims"), "aims"),
        (lambda data: data["aims"][0].update(value=None), "aims[0].value"),
        (lambda data: data["aims"][0].update(bound=None), "aims[0].bound"),
    ],
)
def test_a_plan_says_how_good_it_is(
    change: Callable[[Data], object], where: str, command: str, saved: Data, tmp_path: Path
) -> None:
    """A 'proven' plan without aims, without a value, or without the bound that proves it is none."""
    data = json.loads(json.dumps(saved))
    change(data)
    result = _run(command, tmp_path, data)
    assert result.exit_code == ExitCode.BAD_INPUT
    assert result.stderr.startswith(f"plan.json: {where}: ")


def test_again_drops_what_is_gone_with_a_word(saved: Data, tmp_path: Path) -> None:
    """A service and the kind that the last plan has, the inventory not: named, and planned."""
    without = TINY.replace("  mail: {box: birch, cpu: 0.3, memory: 4 GiB, disk: 100 GB}\n", "")
    result = _run("again", tmp_path, saved, without.replace("quiet-host:", "hush-host:"))
    assert result.exit_code == ExitCode.DONE
    assert "no kind called 'quiet-host'; planned without it" in result.stderr


def test_again_refuses_a_start_that_contradicts_itself(saved: Data, tmp_path: Path) -> None:
    """One service on two machines is no state to count changes from."""
    data = json.loads(json.dumps(saved))
    machines = data["state"]["machines"]
    machines.append({**machines[0], "name": "quiet-host-2"})
    result = _run("again", tmp_path, data)
    assert result.exit_code == ExitCode.BAD_INPUT
    assert "state.machines: service" in result.stderr
