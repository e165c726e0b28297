"""Each command whose worker is killed or aborts, or that is interrupted once or twice, at its first news.

What is told is kept: a checked plan or a part of the answer; a sentence says what ended the search.
"""

from __future__ import annotations

import json
import signal
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from planner.cli.exit_codes import ExitCode
from planner.placement import worker as apart
from tests.cli.tiny import ROOT, run

pytestmark = pytest.mark.slow

SMALL = ROOT / "inventories" / "small-office.yaml"
PLAN = ROOT / "tests" / "tui" / "plans" / "small-office.json"

AT_FIRST_NEWS = """
import os, signal, sys
from planner.worker import Worker

run, done = Worker.run, []

def acting(self, work, *given, watch=None, **named):
    def hear(news):
        if not done and getattr(news, "state", news) is not None:
            done.append(news)
            {act}
        if watch is not None:
            watch(news)

    return run(self, work, *given, watch=hear if work == {work!r} else watch, **named)

Worker.run = acting
from planner.cli import main
main()
"""
KILL, ABORT = (f"os.kill(self.process_id, signal.{name})" for name in ("SIGKILL", "SIGABRT"))
ONCE = "os.kill(os.getpid(), signal.SIGINT)"
TWICE = f"[{ONCE} for _ in (1, 2)]"


@dataclass(frozen=True)
class Case:
    """A command, the work that its worker is lost in, and what it writes then."""

    words: tuple[str, ...]
    work: str
    says: str


CASES = {
    "plan": Case(("plan", str(SMALL)), apart.SOLVE, "stopped by {cause}"),
    "plan --alternatives": Case(
        ("plan", str(SMALL), "--alternatives", "3"),
        "planner.placement.studies.near_optimal:alternatives",
        "the search was stopped by {cause}",
    ),
    "why": Case(("why", str(SMALL), "intranet", str(PLAN)), apart.SOLVE, "(there may be a better one)"),
    "quiet": Case(("quiet", str(SMALL)), apart.SOLVE, "Beside it, the cheapest set"),
    "tradeoff": Case(
        ("tradeoff", str(SMALL)), "planner.placement.studies.pareto_front:tradeoff", "stopped by {cause}"
    ),
    "moves": Case(
        ("moves", str(SMALL), str(PLAN), "--start", "2027-03-01"),
        "planner.moves.tracking.arranging:arrange",
        "{cause}",
    ),
}


def _acted(case: Case, act: str, *more: str) -> subprocess.CompletedProcess[str]:
    code = AT_FIRST_NEWS.replace("{act}", act).replace("{work!r}", repr(case.work))
    command = [sys.executable, "-c", code, *case.words, *more]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=300, check=False)


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="needs such a signal")
@pytest.mark.parametrize(("act", "number"), [(KILL, 9), (ABORT, 6)])
@pytest.mark.parametrize("name", CASES)
def test_a_lost_worker_leaves_what_it_told(name: str, act: str, number: int) -> None:
    """The command ends as one that was stopped early, with what was told; it says how the worker ended."""
    case = CASES[name]
    done = _acted(case, act)
    cause = f"the loss of the solver: its process ended by itself (signal {number})"
    out, err = (" ".join(text.split()) for text in (done.stdout, done.stderr))
    if name == "plan --alternatives":
        assert done.returncode == ExitCode.DONE, err  # the plan itself is proven
    else:
        assert done.returncode == ExitCode.STOPPED_WITH_PLAN, err
    assert case.says.format(cause=cause) in out
    assert cause in out + err
    assert "Traceback" not in err


@pytest.mark.parametrize("name", CASES)
def test_one_interrupt_keeps_what_was_told(name: str) -> None:
    """One Ctrl-C ends the search with what it has, as if stopped early; nothing is called lost."""
    done = _acted(CASES[name], ONCE)
    ends = (ExitCode.DONE, ExitCode.STOPPED_WITH_PLAN)
    # Of two sets that are sought one after the other the second may not be begun.
    may_end = (*ends, ExitCode.STOPPED_EMPTY) if name == "quiet" else ends
    assert done.returncode in may_end, done.stderr
    assert done.stdout
    assert "loss of the solver" not in done.stdout + done.stderr
    assert "stopping; the best so far is kept" in done.stderr


@pytest.mark.parametrize("name", CASES)
def test_two_interrupts_leave(name: str) -> None:
    """Two Ctrl-C leave at once, with 130 and nothing written."""
    done = _acted(CASES[name], TWICE)
    assert done.returncode == ExitCode.INTERRUPTED
    assert done.stdout == ""
    assert done.stderr.endswith("interrupted; nothing was written\n")


def test_a_plan_of_a_lost_worker_is_saved_and_holds(tmp_path: Path) -> None:
    """What is saved is judged like any plan."""
    target = tmp_path / "plan.json"
    _acted(CASES["plan"], KILL, "-o", str(target))
    assert json.loads(target.read_text(encoding="utf-8"))["stopped_by"].startswith("the loss of the solver")
    assert run("verify", SMALL, target).exit_code == ExitCode.DONE
