"""A programme in a file, solved by the CBC that PuLP brings; its log tells each better solution."""

from __future__ import annotations

import os
import pty
import re
import subprocess
from collections.abc import Iterator, Mapping
from pathlib import Path

import pulp

from tests.benchmarks.peers.child import Job, Teller
from tests.benchmarks.peers.solved import Solved

NUMBER = r"([-+]?\d[\d.]*(?:e[-+]?\d+)?)"
INCUMBENT = re.compile(
    rf"Integer solution of {NUMBER} found|found solution of {NUMBER}|best solution {NUMBER}, "
)
BOUND = re.compile(rf"best possible {NUMBER}|Continuous objective value is {NUMBER}|Lower bound:\s+{NUMBER}")


NONE_YET = 1e30
"""From this value on CBC means that it has none."""


def solve(path: Path, seconds: float, job: Job, teller: Teller, constant: float) -> Solved:
    """Solve; ``constant`` is added to what is told."""
    answer = path.with_suffix(".sol")
    command = [pulp.PULP_CBC_CMD.pulp_cbc_path, str(path), "-sec", f"{seconds:.2f}", "-timemode", "elapsed"]
    command += ["-threads", str(job.cores), "-randomCbcSeed", str(job.seed + 1), "-ratioGap", "0"]
    command += ["-branch", "-printingOptions", "all", "-solution", str(answer)]
    bound, optimal = None, False
    for line in _lines(command):
        value, better = _figure(INCUMBENT, line), _figure(BOUND, line)
        bound = bound if better is None else better
        optimal = optimal or "Result - Optimal solution found" in line
        if value is not None or better is not None:
            teller.better(
                None if value is None else value + constant, None if bound is None else bound + constant
            )
    values = _values(answer) if answer.exists() else None
    proven = optimal and values is not None and _said(answer).startswith("Optimal")
    return Solved(values, None if bound is None else bound + constant, proven)


def _lines(command: list[str]) -> Iterator[str]:
    """Run a command and give its lines as they come: to a terminal it writes them at once."""
    ours, theirs = pty.openpty()
    with subprocess.Popen(command, stdout=theirs, stderr=theirs, stdin=subprocess.DEVNULL):
        os.close(theirs)
        with os.fdopen(ours, "r", errors="replace") as stream:
            try:
                yield from stream
            except OSError:  # how a terminal says that the other end is gone
                return


def _figure(pattern: re.Pattern[str], line: str) -> float | None:
    match = pattern.search(line)
    if match is None:
        return None
    value = float(next(group for group in match.groups() if group is not None))
    return value if abs(value) < NONE_YET else None


def _said(answer: Path) -> str:
    return answer.read_text().split("\n", 1)[0]


def _values(answer: Path) -> Mapping[str, float] | None:
    """Read the values of a solution file; none where it says that no solution has whole numbers."""
    if "nfeasible" in _said(answer) or "no integer solution" in _said(answer):
        return None
    found = {}
    for line in answer.read_text().splitlines()[1:]:
        fields = line.replace("**", "").split()
        found[fields[1]] = float(fields[2])
    return found
