"""How good dated orders are: ``python -m tests.benchmarks.moves [--seconds N] [FILE | COUNT ...]``.

A count stands for a generated site of so many services with two people, eight hours on Saturdays and four
on Wednesdays. Printed are value, bound and gap of each aim, and the seconds of one core. It asserts nothing.
"""

from __future__ import annotations

import argparse
import sys
import time
from dataclasses import replace
from datetime import date
from datetime import time as clock
from pathlib import Path

from planner.domain.rules import Recurring, Windows
from planner.domain.site import Site
from planner.domain.state import State
from planner.inventory import load
from planner.moves.scheduling.request import Options
from planner.moves.scheduling.schedule import schedule
from planner.moves.tasks.walk import walk
from planner.placement.result import Options as Planning
from planner.placement.solve import solve
from tests.benchmarks.generated import generated_site

ROOT = Path(__file__).resolve().parents[2]
CASES = ("inventories/small-office.yaml", "inventories/mid-size.yaml", "200")
PLAN_S = 60.0
FIRST_DAY = date(2027, 3, 1)
TEAM = Windows("UTC", (Recurring(5, clock(8), 8.0), Recurring(2, clock(18), 4.0)), (), FIRST_DAY, 2)
HEAD = ("aim", "value", "bound", "gap", "proven", "bound by")


def main(arguments: list[str]) -> int:
    """Order the moves of each case, windows first and quiet first, and print tables."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("cases", nargs="*", default=CASES)
    chosen = parser.parse_args(arguments)
    for case in chosen.cases:
        site = _site(case)
        plan = solve(site, Planning(time_s=PLAN_S)).plan
        if plan is None:
            print(f"{case}: no plan in {PLAN_S:.0f} s\n")
            continue
        for quiet_first in (False, True):
            _order(case, site, plan.state, Options(FIRST_DAY, chosen.seconds, quiet_first=quiet_first))
    return 0


def _site(case: str) -> Site:
    if case.isdigit():
        return replace(generated_site(int(case)), windows=TEAM)
    return load(ROOT / case).site


def _order(case: str, site: Site, state: State, options: Options) -> None:
    began = time.process_time()
    found = schedule(site, state, options)
    spent_s = time.process_time() - began
    verdict = "judged good" if not walk(site, state, found.order) else "REJECTED"
    first = "quiet first" if options.quiet_first else "windows first"
    head = f"{case}, {first}: {len(found.order.waves)} waves"
    print(f"{head}, {found.outcome}, {verdict}, {spent_s:.1f} s of a core")
    print("{:>18} {:>12} {:>12} {:>7} {:>7} {}".format(*HEAD))
    for aim in found.aims:
        share = aim.gap / aim.value if aim.value > 0.0 else 0.0
        proven = "yes" if aim.proven else "no"
        print(
            f"{aim.name:>18} {aim.value:>12.3f} {aim.bound:>12.3f} {share:>7.1%} {proven:>7} {aim.bound_by}"
        )
    print()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
