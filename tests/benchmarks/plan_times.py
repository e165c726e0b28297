"""How long planning takes: ``python -m tests.benchmarks.plan_times [FILE ...]``; it asserts nothing."""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from pathlib import Path

from planner.inventory import load
from planner.placement import Options, Progress, solve
from planner.site import Aim

ROOT = Path(__file__).resolve().parents[2]
FILES = ("inventories/small-office.yaml", "inventories/mid-size.yaml")
LIMIT_S = 300.0
STARTS = 5
HEAD = ("aim", "value", "bound", "proven", "last news")


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
    news: dict[Aim, float] = {}

    def watch(progress: Progress) -> None:
        news[progress.aim] = progress.seconds

    result = solve(site, Options(time_s=LIMIT_S), watch=watch)
    print(f"{path.name}: {len(site.services)} services, {len(site.boxes)} boxes, {len(site.kinds)} kinds")
    print("{:>8} {:>12} {:>12} {:>7} {:>11}".format(*HEAD))
    for aim in result.plan.aims if result.plan is not None else ():
        proven, last = "yes" if aim.proven else "no", news.get(aim.aim)
        at = "-" if last is None else f"{last:.2f} s"
        print(f"{aim.aim:>8} {aim.value:>12.3f} {aim.bound:>12.3f} {proven:>7} {at:>11}")
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
