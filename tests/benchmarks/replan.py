"""How long it takes to plan the 40-service example again after one rule was edited.

``python -m tests.benchmarks.replan [--from-scratch]`` prints a row for each edit and the median. The plan
before the edit is made once; each edit is made on its own. Seconds are of the wall, and of this process.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from planner.domain.machines import Kind
from planner.domain.measures import Measure
from planner.domain.plan import Plan, changes
from planner.domain.rules import Apart, Quorum, Together
from planner.domain.services import Service
from planner.domain.site import Site
from planner.domain.sound import Listener
from planner.inventory import load
from planner.placement.result import Options
from planner.placement.solve import solve
from planner.placement.studies.reoptimise import solve_again, still_best

EXAMPLE = Path(__file__).resolve().parent.parent.parent / "inventories" / "mid-size.yaml"
Edit = Callable[[Site], Site]


@dataclass(frozen=True)
class Row:
    """One edit's outcome: seconds, whether the plan is proven, and in how much it differs from the last."""

    edit: str
    wall_s: float
    busy_s: float
    proven: bool
    changed: int | None
    how: str


def service(name: str, change: Callable[[Service], Service]) -> Edit:
    """Make the edit of one service."""
    return lambda site: replace(
        site, services=tuple(change(item) if item.name == name else item for item in site.services)
    )


def listener(name: str, change: Callable[[Listener], Listener]) -> Edit:
    """Make the edit of one listener."""
    return lambda site: replace(
        site, listeners=tuple(change(item) if item.name == name else item for item in site.listeners)
    )


def measure(name: str, change: Callable[[Measure], Measure]) -> Edit:
    """Make the edit of one measure."""
    return lambda site: replace(
        site, measures=tuple(change(item) if item.name == name else item for item in site.measures)
    )


def kind(name: str, change: Callable[[Kind], Kind]) -> Edit:
    """Make the edit of one kind."""
    return lambda site: replace(
        site, kinds=tuple(change(item) if item.name == name else item for item in site.kinds)
    )


def demand(name: str, **figures: float) -> Edit:
    """Make the edit of one service's demand."""
    values = {key: (value,) for key, value in figures.items()}
    return service(name, lambda item: replace(item, demand=replace(item.demand, **values)))


def policy(**fields: object) -> Edit:
    """Make the edit of policy figures."""
    return lambda site: replace(site, policy=replace(site.policy, **fields))  # type: ignore[arg-type]


def apart(*names: str) -> Edit:
    """Make the edit that keeps services apart."""
    return lambda site: replace(site, apart=(*site.apart, Apart(frozenset(names), "an edit")))


def together(*names: str) -> Edit:
    """Make the edit that holds services together."""
    return lambda site: replace(site, together=(*site.together, Together(frozenset(names), "an edit")))


EDITS: dict[str, Edit] = {
    "asset-index apart from asset-search": apart("asset-index", "asset-search"),
    "project-db apart from accounts": apart("project-db", "accounts"),
    "transcoders no longer apart": lambda site: replace(site, apart=site.apart[:-1]),
    "wiki together with tickets": together("wiki", "tickets"),
    "uploads no longer together": lambda site: replace(site, together=site.together[:-1]),
    "house-clock must stay physical": service("house-clock", lambda s: replace(s, physical="an edit")),
    "telephones stay on lovage": service("telephones", lambda s: replace(s, stay_on="lovage")),
    "night-backup stays on chicory": service("night-backup", lambda s: replace(s, stay_on="chicory")),
    "telephones need no card": service("telephones", lambda s: replace(s, needs=frozenset())),
    "project-db takes 24 GiB": demand("project-db", memory_gib=24.0),
    "media-store takes 2.4 cores": demand("media-store", cpu=2.4),
    "wiki takes 50 IOPS": demand("wiki", iops=50.0),
    "budget 4,000": policy(budget=4000.0),
    "budget 4,600": policy(budget=4600.0),
    "inlet limit 26 °C": policy(inlet_limit_c=26.0),
    "mixing-desk target 22 dBA": listener("mixing-desk", lambda item: replace(item, target_dba=22.0)),
    "mixing-desk target 21 dBA": listener("mixing-desk", lambda item: replace(item, target_dba=21.0)),
    "plain-host costs 900": kind("plain-host", lambda item: replace(item, price=900.0)),
    "at most 3 fanless boxes": kind("fanless-box", lambda item: replace(item, max_units=3)),
    "no door-seal": measure("door-seal", lambda item: replace(item, allowed=False)),
    "no wall-absorber": measure("wall-absorber", lambda item: replace(item, allowed=False)),
    "mail-gate in the inner zone": service("mail-gate", lambda s: replace(s, zone="default")),
    "one directory stays physical": lambda site: replace(
        site, quorums=(Quorum(frozenset(("directory-1", "directory-2")), 1, "an edit"),)
    ),
}


def planned_again(before: Site, last: Plan, site: Site, from_scratch: bool) -> tuple[Plan | None, str]:
    """Plan an edited site, from the last plan or from nothing."""
    if from_scratch:
        return solve(site, Options(previous=last.state)).plan, "from nothing"
    kept = still_best(before, last, site, Options()) is not None
    plan = solve_again(before, last, site).plan
    same = plan is not None and plan.state is last.state
    return plan, "old proof holds" if kept else "kept after solving" if same else "changed"


def measured(name: str, site: Site, last: Plan, from_scratch: bool) -> Row:
    """Plan again after an edit and measure it."""
    edited = EDITS[name](site)
    wall, busy = time.perf_counter(), time.process_time()
    plan, how = planned_again(site, last, edited, from_scratch)
    wall, busy = time.perf_counter() - wall, time.process_time() - busy
    changed = None if plan is None else changes(edited, plan.state, last.state)
    return Row(name, wall, busy, plan is not None and plan.proven, changed, how)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--from-scratch", action="store_true")
    parser.add_argument("--most", type=int, default=len(EDITS), help="try so many of the edits")
    asked = parser.parse_args()
    site = load(EXAMPLE).site
    began = time.perf_counter()
    last = solve(site, Options(time_s=120.0)).plan
    assert last is not None
    print(f"first plan: {time.perf_counter() - began:.2f} s, {last.outcome}")
    rows = []
    print(f"{'edit':38}{'wall s':>8}{'busy s':>8}  {'proven':8}{'differs':>7}  how")
    for name in list(EDITS)[: asked.most]:
        row = measured(name, site, last, asked.from_scratch)
        rows.append(row)
        proven = "proven" if row.proven else "no"
        differs = "no plan" if row.changed is None else str(row.changed)
        print(
            f"{row.edit:38}{row.wall_s:8.2f}{row.busy_s:8.2f}  {proven:8}{differs:>7}  {row.how}", flush=True
        )
    for label in ("all", "old proof holds", "kept after solving", "changed", "from nothing"):
        chosen = [row for row in rows if label in ("all", row.how)]
        if chosen:
            wall, busy = [row.wall_s for row in chosen], [row.busy_s for row in chosen]
            middle = f"median {statistics.median(wall):.2f} s wall, {statistics.median(busy):.2f} s busy"
            print(f"{label}: {len(chosen)} edits, {middle}; slowest {max(wall):.2f} s")


if __name__ == "__main__":
    main()
