"""What becomes of each command that is sent SIGINT or SIGTERM at a random moment, by random sampling.

``python -m tests.benchmarks.signals [--moments 200] [--seed 0] [COMMAND ...]`` prints a row for each command:
how often it ended how, the longest it took to end, and what is amiss. Moments are drawn evenly from 0 to the
seconds that the command takes alone (at most 6). Every other signal is SIGTERM. A process that is still there
2 s after the command has ended is an orphan.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
SMALL = ROOT / "inventories" / "small-office.yaml"
MIDDLE = ROOT / "inventories" / "mid-size.yaml"
MOST_S = 6.0
GIVEN_UP_S = 60.0
BORN_S = 0.25
"""Seconds in which Python itself may still begin: a signal then ends it before a line of ours is run."""

ENTRIES = ("planner/cli/__init__.py", "planner/cli/__main__.py", "planner/cli/entry.py")
ORPHAN_S = 2.0
MARK = "STILLROOM_SIGNALS_RUN"
DONE, NO_PLAN, STOPPED, EMPTY, INTERRUPTED = 0, 1, 3, 4, 130
WORDS = {
    DONE: "done",
    STOPPED: "checked plan",
    EMPTY: "no plan yet",
    INTERRUPTED: "interrupted",
}


@dataclass(frozen=True)
class Case:
    """A command with its arguments; ``judged``: what it saves is a plan of that inventory."""

    name: str
    words: tuple[str, ...]
    judged: Path | None = None


@dataclass(frozen=True)
class Ended:
    """How a command ended: what it wrote, how long after the signal, and which processes it left."""

    after_s: float
    code: int
    out: str
    err: str
    took_s: float
    orphans: int = 0


@dataclass
class Row:
    """What became of a command at all its moments."""

    name: str
    outcomes: Counter[str] = field(default_factory=Counter)
    worst_s: float = 0.0
    amiss: list[str] = field(default_factory=list)


def cases(folder: Path, plan: Path) -> list[Case]:
    """List every command that ends by itself; ``plan`` is a saved plan of the small office."""
    small, middle, target = str(SMALL), str(MIDDLE), str(folder / "saved.json")
    return [
        Case("schema", ("schema", "plan")),
        Case("check", ("check", small)),
        Case("verify", ("verify", small, str(plan))),
        Case("plan", ("plan", small, "-o", target), SMALL),
        Case("plan, 40 services", ("plan", middle, "-o", target), MIDDLE),
        Case("plan --again", ("plan", small, "--again", str(plan), "-o", target), SMALL),
        Case("plan --alternatives", ("plan", small, "--alternatives", "3", "-o", target), SMALL),
        Case("why", ("why", small, "print-server", str(plan))),
        Case("quiet", ("quiet", small)),
        Case("moves", ("moves", small, str(plan))),
        Case("tradeoff", ("tradeoff", small)),
    ]


def start(words: Sequence[str], run: str) -> subprocess.Popen[bytes]:
    """Start a command; the mark in its surroundings is inherited by all that it starts."""
    return subprocess.Popen(
        [sys.executable, "-m", "planner.cli", *words],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, MARK: run},
    )


def signalled(case: Case, after_s: float, sort: signal.Signals, run: str) -> Ended:
    """Run a command, send it a signal at a moment, and say how it ended."""
    process = start(case.words, run)
    try:
        process.wait(after_s)
    except subprocess.TimeoutExpired:
        process.send_signal(sort)
    sent = time.monotonic()
    try:
        out, err = process.communicate(timeout=GIVEN_UP_S)
    except subprocess.TimeoutExpired:
        process.kill()
        out, err = process.communicate()
        err += b"\nit did not end"
    took_s = time.monotonic() - sent
    return Ended(
        after_s, process.returncode, out.decode(), err.decode("utf-8", "replace"), took_s, _orphans(run)
    )


def _orphans(run: str) -> int:
    """Count the processes of a run that are still there after a while, and end them."""
    until = time.monotonic() + ORPHAN_S
    while (left := processes_of(run)) and time.monotonic() < until:
        time.sleep(0.05)
    for process_id in left:
        os.kill(process_id, signal.SIGKILL)
    return len(left)


def processes_of(run: str) -> list[int]:
    """Find processes by the mark in their surroundings (Linux); those that have ended are not counted."""
    found = []
    for entry in Path("/proc").glob("[0-9]*"):
        try:
            if f"{MARK}={run}".encode() in (entry / "environ").read_bytes().split(b"\0"):
                found.append(int(entry.name))
        except OSError:
            continue
    return found


def outcome(ended: Ended, alone: int, born_s: float = BORN_S) -> str:
    """Name how a command ended, '' where that is amiss; ``alone``: its code when nobody interrupts it."""
    if ended.after_s <= born_s and (ended.code < 0 or "Traceback" in ended.err):
        return "" if _is_under_way(ended.err) else "Python not up"
    if "Traceback" in ended.err or ended.orphans:
        return ""
    if ended.code == alone:
        return WORDS.get(alone, "")
    return WORDS.get(ended.code, "") if ended.code != NO_PLAN else ""


def _is_under_way(err: str) -> bool:
    """Say whether a traceback goes through more of ours than the lines that put the handler up."""
    frames = [text for text in err.splitlines() if f"{ROOT}{os.sep}planner" in text]
    return any(not any(entry in text for entry in ENTRIES) for text in frames)


def judged(case: Case, target: Path) -> str:
    """Judge what a command has saved, by ``stillroom verify``; '' where it holds or nothing was saved."""
    if case.judged is None or not target.exists():
        return ""
    words = [sys.executable, "-m", "planner.cli", "verify", str(case.judged), str(target)]
    done = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=False)
    return "" if done.returncode == 0 else done.stdout


def sample(case: Case, moments: int, draw: random.Random, folder: Path) -> Row:
    """Signal a command at random moments."""
    target = folder / "saved.json"
    began = time.monotonic()
    whole = signalled(case, GIVEN_UP_S, signal.SIGINT, f"{case.name}/whole")
    span_s = min(MOST_S, time.monotonic() - began)
    row = Row(case.name)
    for number in range(moments):
        target.unlink(missing_ok=True)
        sort = (signal.SIGINT, signal.SIGTERM)[number % 2]
        ended = signalled(case, draw.uniform(0.0, span_s), sort, f"{case.name}/{number}/{os.getpid()}")
        name, wrong = outcome(ended, whole.code), judged(case, target)
        row.outcomes[name or "AMISS"] += 1
        row.worst_s = max(row.worst_s, ended.took_s)
        if not name or wrong:
            row.amiss.append(
                f"{sort.name} after {ended.after_s:.3f} s: code {ended.code}, {ended.orphans} orphans, "
                f"{' '.join((wrong or ended.err).split())[-300:]}"
            )
    return row


def printed(row: Row) -> str:
    """Write a row."""
    counts: Mapping[str, int] = dict(sorted(row.outcomes.items()))
    words = ", ".join(f"{count} {name}" for name, count in counts.items())
    return f"{row.name:22} worst {row.worst_s:5.2f} s   {words}"


def saved_plan(folder: Path) -> Path:
    """Save a plan of the small office, for the commands that take one."""
    path = folder / "plan.json"
    words = [sys.executable, "-m", "planner.cli", "plan", str(SMALL), "-o", str(path)]
    subprocess.run(words, cwd=ROOT, capture_output=True, check=True)
    json.loads(path.read_text(encoding="utf-8"))
    return path


def main() -> int:
    """Print what became of each command; 1 where something was amiss."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--moments", type=int, default=200)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("commands", nargs="*")
    asked = parser.parse_args()
    is_amiss = False
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for case in cases(folder, saved_plan(folder)):
            if asked.commands and case.name not in asked.commands:
                continue
            row = sample(case, asked.moments, random.Random(f"{asked.seed}/{case.name}"), folder)
            print(printed(row), flush=True)
            for words in row.amiss:
                print(f"    {words}", flush=True)
            is_amiss |= bool(row.amiss)
    return int(is_amiss)


if __name__ == "__main__":
    sys.exit(main())
