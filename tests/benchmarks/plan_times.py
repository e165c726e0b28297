"""How long planning takes: ``python -m tests.benchmarks.plan_times [FILE ...]``; it asserts nothing."""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from unittest.mock import patch

from planner.domain.plan import AimResult
from planner.domain.rules import Aim
from planner.inventory import load
from planner.placement import Options, solve
from planner.placement.optimise.lexicographic import Pursuit

Pursue = Callable[[Pursuit, Aim], AimResult]

ROOT = Path(__file__).resolve().parents[2]
FILES = ("inventories/small-office.yaml", "inventories/mid-size.yaml")
LIMIT_S = 300.0
STARTS = 5
HEAD = ("aim", "value", "bound", "proven", "seconds")


def main(arguments: list[str]) -> int:
    """Plan each file and print a table; then print how long the command takes to start."""
    for name in arguments or FILES:
        path = ROOT / name
        if path.exists():
            _plan(path)
        else:
            print(f"{name}: not there\n")
    print(f"stillroom --help: {_start_s():.2f} s (median of {STARTS})")
    return 0


def _plan(path: Path) -> None:
    began = time.monotonic()
    site = load(path).site
    loaded_s = time.monotonic() - began
    spent: list[float] = []
    with patch.object(Pursuit, "pursue", _timed(Pursuit.pursue, spent)):
        result = solve(site, Options(time_s=LIMIT_S))
    print(f"{path.name}: {len(site.services)} services, {len(site.boxes)} boxes, {len(site.kinds)} kinds")
    print("{:>8} {:>12} {:>12} {:>7} {:>10}".format(*HEAD))
    for aim, seconds in zip(result.plan.aims if result.plan is not None else (), spent, strict=False):
        proven = "yes" if aim.proven else "no"
        print(f"{aim.aim:>8} {aim.value:>12.3f} {aim.bound:>12.3f} {proven:>7} {seconds:>10.2f}")
    print(f"{result.outcome}; load {loaded_s:.2f} s, solve {result.seconds:.2f} s\n")


def _timed(pursue: Pursue, spent: list[float]) -> Pursue:
    """Give a pursuit of an aim that also notes how long it took."""

    def timed(pursuit: Pursuit, aim: Aim) -> AimResult:
        began = time.monotonic()
        result = pursue(pursuit, aim)
        spent.append(time.monotonic() - began)
        return result

    return timed


def _start_s() -> float:
    took = []
    for _ in range(STARTS):
        began = time.monotonic()
        command = [sys.executable, "-c", "from planner.cli import main; main()", "--help"]
        subprocess.run(command, cwd=ROOT, check=False, capture_output=True)
        took.append(time.monotonic() - began)
    return statistics.median(took)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
