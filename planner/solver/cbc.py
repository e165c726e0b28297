"""Programmes run by CBC in a process of its own; its status word counts only beside a point that came."""

from __future__ import annotations

import contextlib
import subprocess
import tempfile
import threading
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pulp

from planner.solver.silent import SilentHighs
from planner.solver.solution import Answer, Ending, Limits, rounded, value_of
from planner.solver.standard_form import Floats, StandardForm

LOOK_S = 0.02

SLOW_TO_STOP_S = 5.0
"""Seconds over its time after which the process is ended."""


@dataclass(frozen=True)
class CbcRun:
    """How a run ended, its first status word, and the point it gave, (columns,), if any."""

    status: str
    point: Floats | None


def run_cbc(
    variables: list[pulp.LpVariable],
    objective: pulp.LpAffineExpression,
    form: StandardForm,
    limits: Limits,
    cancel: threading.Event | None = None,
) -> Answer:
    """Minimise a programme by CBC; `Ending.FAILED` where its process ends without an answer."""
    began = time.monotonic()
    found = solve_cbc(form, limits, cancel)
    seconds = time.monotonic() - began
    if found is None:
        stopped = seconds >= limits.time_s or (cancel is not None and cancel.is_set())
        return Answer(Ending.EMPTY if stopped else Ending.FAILED, {}, np.inf, -np.inf, seconds)
    if found.status == "Infeasible" and seconds < limits.time_s:
        return Answer(Ending.INFEASIBLE, {}, np.inf, np.inf, seconds)
    if found.point is None:
        return Answer(Ending.EMPTY, {}, np.inf, -np.inf, seconds)
    values = rounded(variables, found.point.tolist())
    value, optimal = value_of(objective, values), found.status == "Optimal" and seconds < limits.time_s
    ended = Ending.PROVEN if optimal else Ending.STOPPED
    return Answer(ended, values, value, value if optimal else -np.inf, seconds)


def solve_cbc(form: StandardForm, limits: Limits, cancel: threading.Event | None = None) -> CbcRun | None:
    """Run CBC on a form until it ends, its time is over, or the cancel; None where nothing came.

    'Infeasible' is said of no point at all, 'Optimal' of the best one, 'Stopped' of what the clock left.
    """
    with tempfile.TemporaryDirectory(prefix="stillroom-") as folder:
        model, answer = Path(folder) / "model.mps", Path(folder) / "answer.txt"
        _write_mps(form, model)
        command = [str(pulp.PULP_CBC_CMD.pulp_cbc_path), str(model)]
        command += ["-sec", str(max(limits.time_s, 0.1)), "-randomCbcSeed", str(limits.seed)]
        command += ["-ratioGap", str(limits.relative_gap), "-allowableGap", str(limits.absolute_gap)]
        command += [] if limits.nodes is None else ["-maxNodes", str(limits.nodes)]
        command += ["-timeMode", "elapsed", "-branch", "-printingOptions", "all", "-solution", str(answer)]
        silent = subprocess.DEVNULL
        process = subprocess.Popen(command, stdin=silent, stdout=silent, stderr=silent)
        try:
            _wait(process, limits.time_s + SLOW_TO_STOP_S, cancel)
        finally:
            with contextlib.suppress(OSError):
                process.kill()
            process.wait()
        # What a process that was ended has written may be half a file.
        whole = process.returncode >= 0 and answer.exists()
        return _read(answer, len(form.cost)) if whole else None


def _wait(process: subprocess.Popen[bytes], seconds: float, cancel: threading.Event | None) -> None:
    until = time.monotonic() + seconds
    while process.poll() is None and time.monotonic() < until:
        if cancel is not None and cancel.is_set():
            return
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(LOOK_S)


def _write_mps(form: StandardForm, path: Path) -> None:
    writer = SilentHighs()
    writer.setOptionValue("output_flag", False)
    writer.passModel(form.as_highs())
    writer.writeModel(str(path))


def _read(path: Path, columns: int) -> CbcRun:
    """Read a solution file: a line of status, then a line for each column: number, name, value."""
    lines = path.read_text().splitlines()
    words = lines[0].split() if lines else []
    status = "Infeasible" if "nfeasible" in " ".join(words[:2]) else (words or ["nothing"])[0]
    if status not in ("Optimal", "Stopped") or "no integer solution" in lines[0]:
        return CbcRun(status, None)
    point, rows_first = np.zeros(columns), 0
    for line in lines[1:]:
        fields = [field for field in line.split() if field != "**"]
        if fields[1].startswith("c"):
            point[int(fields[1][1:])] = float(fields[2])
            rows_first += 1
    return CbcRun(status, point if rows_first else None)
