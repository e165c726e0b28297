"""Which box to free next: for orders that bring machines in only as they are needed."""

from __future__ import annotations

from collections.abc import Set

import networkx as nx

from planner.domain.order import Sort, task_id
from planner.moves.tasks.work_packages import Work


def focus(work: Work, placed: Set[str]) -> frozenset[str]:
    """Give the blocks still to be done for the box that is freed at the least peak watts; none: empty."""
    best: tuple[tuple[float, int, str], frozenset[str]] | None = None
    for box in work.change.held:
        hold = work.of_task.get(task_id(Sort.HOLD, box))
        if hold is None or hold in placed:
            continue
        needed = frozenset(({hold} | nx.ancestors(work.graph, hold)) - placed)
        key = (_coming_w(work, needed) - work.change.site.box[box].spec.peak_w, len(needed), box)
        if best is None or key < best[0]:
            best = key, needed
    return frozenset() if best is None else best[1]


def _coming_w(work: Work, needed: Set[str]) -> float:
    """Give the peak watts of the machines that some blocks bring in."""
    coming = {
        task.subject for name in needed for task in work.block[name].tasks if task.sort is Sort.BRING_IN
    }
    site = work.change.site
    return sum(machine.spec(site).peak_w for machine in work.change.bought if machine.name in coming)
