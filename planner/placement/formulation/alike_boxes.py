"""Boxes that are alike for every rule and figure: equivalence classes of what re-using one as a host means.

Alike boxes that may be re-used are counted, as units of a kind are: watts, sound, money, circuits and
changes depend on how many of them are hosts. Which of them a plan names is chosen afterwards
(`packing.reuse_matching`). What tells a box apart: its data, a measure on it, a service that stays on it,
and what an earlier plan did with it, where changes are counted from one.

Why so: a service is on its own box or in the pool, not on each of 150 hosts. A row a circuit keeps hosts
and boxes left as they are to as many as there are. Only changes counted from a plan with such hosts tell
the boxes apart: then they are written one by one, up to a size; above it, the count within the pool is a
bound.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from planner.domain.machines import Box
from planner.domain.plan import Fate, fate
from planner.domain.site import Site
from planner.domain.state import State


@dataclass(frozen=True)
class Alike:
    """Boxes of which it does not matter which one is re-used; ``first`` is a sample of them.

    ``were_hosts``: an earlier plan re-used them, so it does matter for the changes counted from it.
    """

    boxes: tuple[str, ...]
    were_hosts: bool = False

    @property
    def first(self) -> str:
        """The first of them, in the site's order."""
        return self.boxes[0]

    @property
    def name(self) -> str:
        """What a person reads of them."""
        return f"box like {self.first}"


def alike_boxes(site: Site, previous: State | None = None) -> tuple[Alike, ...]:
    """Find the boxes that may be re-used and have others like them; ``previous``: an earlier plan."""
    told_apart = {service.stay_on for service in site.services} | {item.target for item in site.measures}
    found: dict[tuple[Box, Fate | None], list[str]] = {}
    for box in site.boxes:
        if box.may_host and not box.hosts_today and box.stays is None and box.name not in told_apart:
            before = None if previous is None else fate(site, previous, box.name)
            found.setdefault((_all_but_names(box), before), []).append(box.name)
    return tuple(
        Alike(tuple(names), were_hosts=before is Fate.REUSE)
        for (_, before), names in found.items()
        if len(names) > 1
    )


def _all_but_names(box: Box) -> Box:
    """Compute what counts of a box: not its name, and circuits are counted one by one."""
    return replace(box, name="", circuit="", assumed=frozenset())
