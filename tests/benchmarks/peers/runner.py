"""One side's run on one problem, in a process of its own: killed when it overruns, its memory measured."""

from __future__ import annotations

import contextlib
import json
import math
import os
import pickle
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Any

from tests.benchmarks.peers.child import Job

ROOT = Path(__file__).resolve().parents[3]

SAME = 1e-5
"""Relative difference up to which two objectives are the same: solvers' tolerances, and whole parts."""

GRACE_S = 10.0
"""Seconds over the limit, loading included, after which a side is killed."""

STILLROOM = "stillroom"

SIDES: Mapping[str, tuple[str, ...]] = {
    STILLROOM: ("tests.benchmarks.peers.stillroom",),
    "first-fit": ("tests.benchmarks.peers.first_fit",),
    "cbc": ("tests.benchmarks.peers.textbook", "cbc"),
    "highs": ("tests.benchmarks.peers.textbook", "highs"),
    "cp-sat": ("tests.benchmarks.peers.cpsat",),
    "arc-flow": ("tests.benchmarks.peers.arcflow",),
}
"""Every side's module and arguments."""


@dataclass
class Run:
    """What a side did: its best objective and bound, when, and with what."""

    side: str
    objective: float = math.inf
    bound: float = -math.inf
    proven: bool = False
    seconds: float = 0.0
    memory_mib: float = 0.0
    busy_s: float = 0.0
    skipped: str = ""
    note: str = ""
    course: list[tuple[float, float]] = field(default_factory=list)
    facts: dict[str, Any] = field(default_factory=dict)

    @property
    def gap(self) -> float:
        """The gap of value and bound, relative to the value; infinite without either."""
        if not math.isfinite(self.objective) or not math.isfinite(self.bound):
            return math.inf
        return max(0.0, self.objective - self.bound) / max(1e-9, abs(self.objective))

    def reached(self, objective: float) -> float:
        """Compute the seconds at which an objective was reached, infinite where it never was."""
        slack = SAME * max(1.0, abs(objective))
        return min(
            (seconds for seconds, value in self.course if value <= objective + slack), default=math.inf
        )

    def at(self, seconds: float) -> float:
        """Compute the best objective that was there after some seconds."""
        return min((value for when, value in self.course if when <= seconds), default=math.inf)

    def hear(self, facts: Mapping[str, Any]) -> None:
        """Take in a line that the side told."""
        self.seconds = float(facts["seconds"])
        self.skipped = str(facts.get("skipped", self.skipped))
        self.note = str(facts.get("note", self.note))
        value, bound = facts.get("objective"), facts.get("bound")
        if bound is not None:
            self.bound = max(self.bound, float(bound))
        if value is not None and float(value) < self.objective:
            self.objective = float(value)
            self.course.append((self.seconds, self.objective))
        if facts.get("last"):
            self.proven = bool(facts.get("proven", False))
            self.bound = self.objective if self.proven else self.bound
            self.facts = dict(facts)


def run(side: str, job: Job) -> Run:
    """Run a side on a job and give what it told until it ended or was ended."""
    told, wails, ended = Run(side), list[str](), threading.Event()
    with _started(side) as process:
        threads = [
            threading.Thread(target=_listen, args=(process.stdout, told)),
            threading.Thread(target=lambda: wails.extend(_lines(process.stderr))),
            threading.Thread(target=_end, args=(process.pid, job.seconds + GRACE_S, ended)),
        ]
        for thread in threads:
            thread.start()
        _hand_over(process, job)
        _, status, usage = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
        ended.set()
        for thread in threads:
            thread.join()
    told.memory_mib, told.busy_s = usage.ru_maxrss / 1024.0, usage.ru_utime + usage.ru_stime
    _conclude(told, process.returncode, wails, job.seconds)
    return told


def _started(side: str) -> subprocess.Popen[bytes]:
    module, *arguments = SIDES[side]
    return subprocess.Popen(
        [sys.executable, "-m", module, *arguments],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=ROOT,
        start_new_session=True,
    )


def _hand_over(process: subprocess.Popen[bytes], job: Job) -> None:
    assert process.stdin is not None
    with contextlib.suppress(BrokenPipeError), process.stdin as stream:
        stream.write(pickle.dumps(job))


def _conclude(told: Run, code: int, wails: list[str], limit_s: float) -> None:
    """Note how a side ended that did not end by itself."""
    if told.facts:
        return
    told.seconds = max(told.seconds, limit_s if code == -signal.SIGKILL else told.seconds)
    told.note = (
        "ended at the limit" if code == -signal.SIGKILL else f"failed ({code}): {' '.join(wails[-1:])}"
    )


def _end(pid: int, seconds: float, ended: threading.Event) -> None:
    if not ended.wait(seconds):
        os.killpg(pid, signal.SIGKILL)


def _listen(stream: IO[bytes] | None, told: Run) -> None:
    for line in _lines(stream):
        told.hear(json.loads(line))


def _lines(stream: IO[bytes] | None) -> Iterator[str]:
    for line in stream or ():
        yield line.decode(errors="replace").rstrip()


def calm() -> float:
    """Compute how many processes want the machine: more than its cores, and every time here is too long."""
    return os.getloadavg()[0]
