"""Services that would be down for longer than they bear while they move, each with its ways out.

Why so: downtime limits are rules, and the way to move follows from them (`practice.method_for`). A declared
method is never changed; where the limit cannot be met, no order is shown but the ways out. `order` itself
only notes it, for the screen.
"""

from __future__ import annotations

from collections.abc import Iterator, Set

from planner.domain import practice
from planner.domain.order import Sort, Task, task_id
from planner.domain.services import Service
from planner.moves.tasks.limits import passed_above
from planner.moves.tasks.state_difference import Change
from planner.moves.tasks.work_packages import Work
from planner.physics.storage import COPY_MB_S_PER_MBIT_S

MOST_MBPS = 100_000.0
"""A link faster than this is no way out."""


def downtime_notes(work: Work, done: Set[str] = frozenset()) -> Iterator[str]:
    """Find the moves left that keep a service down for longer than it may be, each with its ways out.

    The judge refuses such a move in any order: how long it takes does not depend on when it is done.
    """
    change = work.change
    for name in change.moved:
        service, task = change.site.service[name], work.tasks[task_id(Sort.MOVE, name)]
        limit_min = service.downtime_min
        if task.id in work.past | done or limit_min is None or task.down_h * 60.0 <= passed_above(limit_min):
            continue
        ways = [
            *_ways(change, service, task, limit_min),
            f"or let it be down for {task.down_h * 60.0:.0f} min",
        ]
        yield (
            f"{name} is down for {task.down_h * 60.0:.0f} min while it moves, its limit is "
            f"{limit_min:.0f} min: {', '.join(ways)}."
        )


def _ways(change: Change, service: Service, task: Task, limit_min: float) -> Iterator[str]:
    if service.name in change.in_place:
        yield f"borrow a machine for it to step on while {task.goal} is rebuilt"
        return
    switch_min = practice.WAY_BACK_HOURS * 60.0
    if limit_min < switch_min:
        yield f"turning its name and address over takes {switch_min:.0f} min by itself (assumed)"
        return
    if task.method != "replicate":
        yield "replicate it beforehand ('method: replicate')"
    copying_h = limit_min / 60.0 - practice.WAY_BACK_HOURS
    if task.method != "replicate" and copying_h > 0.0:
        mb_s = max(service.demand.disk_gb) * 1000.0 / copying_h / 3600.0
        link_mbps = mb_s / COPY_MB_S_PER_MBIT_S
        if link_mbps <= MOST_MBPS:
            yield f"copy it over a link of {link_mbps:.0f} Mbit/s or more"
