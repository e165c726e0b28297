"""How long planning takes: ``python -m tests.benchmarks.plan_times [FILE ...]``; it asserts nothing.

An aim ends where the last is told of it; what is waited for proofs after the last aim is the solve's alone.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from pathlib import Path

from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.inventory import load
from planner.placement.result import Options, Progress, Result
from planner.placement.solve import solve

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


def timed(site: Site) -> tuple[Result, dict[Aim, float]]:
    """Solve a site, and measure the seconds of each aim."""
    ended_s: dict[Aim, float] = {}

    def watch(progress: Progress) -> None:
        ended_s[progress.aim] = progress.seconds

    result, seconds, before_s = solve(site, Options(time_s=LIMIT_S), watch=watch), dict[Aim, float](), 0.0
    for aim in result.plan.aims if result.plan is not None else ():
        until_s = ended_s[aim.aim]
        seconds[aim.aim], before_s = until_s - before_s, until_s
    return result, seconds


def _plan(path: Path) -> None:
    began = time.monotonic()
    site = load(path).site
    loaded_s = time.monotonic() - began
    result, seconds = timed(site)
    print(f"{path.name}: {len(site.services)} services, {len(site.boxes)} boxes, {len(site.kinds)} kinds")
    print("{:>8} {:>12} {:>12} {:>7} {:>10}".format(*HEAD))
    for aim in result.plan.aims if result.plan is not None else ():
        proven = "yes" if aim.proven else "no"
        print(f"{aim.aim:>8} {aim.value:>12.3f} {aim.bound:>12.3f} {proven:>7} {seconds[aim.aim]:>10.2f}")
    print(f"{result.outcome}; load {loaded_s:.2f} s, solve {result.seconds:.2f} s\n")


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
