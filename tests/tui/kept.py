"""Plans and waves that are kept beside the tests, so that what is shown hangs on no solver."""

from __future__ import annotations

import json
import os
import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from pydantic import TypeAdapter

from planner.domain.plan import Plan
from planner.domain.site import Site
from planner.inventory import load
from planner.moves.tasks.progress import Booked, Progress
from planner.placement.result import Options, Result
from planner.placement.result import Progress as Solving
from planner.report.plan import json_file
from planner.report.plan.peaks import PeaksEntry
from planner.report.why.page import WhyPage
from tui.solving.analyses import Afterwork, afterwork, why
from tui.solving.background import Last, Solver


@dataclass(frozen=True)
class Kept:
    """What is kept of the work after a plan: the tasks of each wave by id, and its peaks."""

    order: tuple[tuple[str, ...], ...]
    peaks: PeaksEntry | None


RENEW = "STILLROOM_RENEW"
HERE = Path(__file__).resolve().parent
INVENTORIES = HERE.parents[1] / "inventories"


def kept_plan(name: str, site: Site) -> Plan:
    """Read the plan kept for a site; it must still belong to it."""
    data = json.loads((HERE / "plans" / f"{name}.json").read_text(encoding="utf-8"))
    return json_file.read(site, data)


@cache
def kept_afterwork(name: str) -> Afterwork:
    """Build waves and ladder from the order kept for a site; ``STILLROOM_RENEW`` seeks them anew anew.

    What needs a solver is kept, the tasks of each wave and the peaks; all else follows from them.
    """
    path, adapter = HERE / "plans" / f"{name}-order.json", TypeAdapter(Kept)
    site = load(INVENTORIES / f"{name}.yaml").site
    plan = kept_plan(name, site)
    if os.environ.get(RENEW):
        found = afterwork(site, plan)
        order = tuple(tuple(entry.task for entry in wave.tasks) for wave in found.moves.waves)
        path.write_bytes(adapter.dump_json(Kept(order, found.peaks), indent=1) + b"\n")
    kept = adapter.validate_json(path.read_bytes())
    booked = tuple(Booked(number, tasks) for number, tasks in enumerate(kept.order, 1))
    without_peaks = replace(plan, stopped_by="interrupted")
    return replace(afterwork(site, without_peaks, Progress(order=booked)), peaks=kept.peaks)


@cache
def kept_why(name: str, service: str) -> WhyPage:
    """Read what is kept of why a service of a site goes where it goes; worked out anew as above."""
    path, adapter = HERE / "plans" / f"{name}-why.json", TypeAdapter(WhyPage)
    if os.environ.get(RENEW):
        site = load(INVENTORIES / f"{name}.yaml").site
        found = why(site, kept_plan(name, site), service, 60.0)
        path.write_bytes(adapter.dump_json(found, indent=1) + b"\n")
    page = adapter.validate_json(path.read_bytes())
    assert page.service == service
    return page


def kept_solver(name: str) -> Solver:
    """Make a stand-in for the solver that answers with the plan kept for a site."""

    def solve(
        site: Site,
        options: Options | None = None,
        *,
        last: Last | None = None,
        cancel: threading.Event | None = None,
        watch: Callable[[Solving], None] | None = None,
    ) -> Result:
        del options, last, cancel, watch
        plan = kept_plan(name, site)
        return Result(plan.outcome, plan, (), 0.4)

    return solve
