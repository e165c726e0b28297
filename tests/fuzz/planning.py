"""Fuzzes ``stillroom plan`` by the mutants of ``tests.fuzz.inventories`` that can be used.

``python -m tests.fuzz.planning --count 1000 --seed 0``; the options are the same. Each usable one is planned
for a moment; what comes must pass the judge, be read again as it was written, and have all its faces.
"""

from __future__ import annotations

import json
import sys

from planner.cli.output import json_text
from planner.domain.site import Site
from planner.inventory import InventoryError
from planner.placement.result import Options, Result
from planner.placement.solve import solve
from planner.report.common.text import paint
from planner.report.plan import build as plan_page
from planner.report.plan import json_file
from planner.report.plan import plain as plan_plain
from planner.report.plan import text as plan_text
from planner.verify import verify_plan
from tests.fuzz import campaign
from tests.fuzz.inventories import loaded, mutant_text

TIME_S = 2.0


def trial(seed: int) -> str:
    """Plan the mutant of a seed, if it can be used; gives the outcome in words."""
    try:
        site = loaded(seed).site
    except InventoryError:
        return "refused"
    result = solve(site, Options(TIME_S))
    check_result(site, result)
    return str(result.outcome.value)


def check_result(site: Site, result: Result) -> None:
    """Judge a plan and write all its faces; where there is none, write why."""
    if result.plan is None:
        json_text(json_file.dump_none(site, result)).encode()
        return
    assert not verify_plan(site, result.plan), verify_plan(site, result.plan)
    page = plan_page.plan_page(site, result.plan)
    paint(plan_text.plan_lines(page), colour=True).encode()
    paint(plan_plain.plan_plain(page), colour=False).encode()
    text = json_text(json_file.dump(site, result.plan))
    assert json_file.read(site, json.loads(text)).state == result.plan.state


if __name__ == "__main__":
    chosen = campaign.arguments(__doc__ or "")
    if chosen.show:
        print(mutant_text(chosen.seed).encode("utf-8", "backslashreplace").decode())
        print(f"# {trial(chosen.seed)}")
        sys.exit(0)
    # By its full name, so that other processes find it.
    from tests.fuzz.planning import trial as named

    sys.exit(campaign.main(named, chosen))
