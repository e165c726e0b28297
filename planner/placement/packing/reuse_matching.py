"""Which of several alike boxes carries which load: a matching of the greatest weight, so that least moves.

Any choice has the same watts, sound, money and rules; it is made for the sake of the work.
"""

from __future__ import annotations

from collections.abc import Sequence

import networkx as nx

from planner.domain.machines import Role
from planner.domain.site import Site
from planner.domain.state import State
from planner.placement.formulation.slots import Alike

Load = frozenset[str]
"""The services that a box is to carry."""


def choose_boxes(
    site: Site, alike: Alike, taken: frozenset[str], loads: Sequence[tuple[Load, str]], previous: State | None
) -> list[str] | None:
    """Choose a box for each load on a circuit, none that is ``taken``; None where there are too few."""
    found: dict[int, str] = {}
    for circuit in dict.fromkeys(circuit for _, circuit in loads):
        here = {index: load for index, (load, each) in enumerate(loads) if each == circuit}
        free = [name for name in alike.boxes if name not in taken and site.box[name].circuit == circuit]
        if len(free) < len(here):
            return None
        found |= _matched(here, free, _at_home(site, free, previous))
    return [found[index] for index in range(len(loads))]


def _at_home(site: Site, boxes: Sequence[str], previous: State | None) -> dict[str, list[Load]]:
    """Look up by box what may well be on it, what counts more first.

    That is what an earlier plan had there; else what runs there today and bears to be down while the box is
    set up anew: it need not go elsewhere first.
    """
    wanted = {
        name: frozenset(s.name for s in site.services if s.box == name and s.downtime_min is None)
        for name in boxes
    }
    machines = previous.machines if previous is not None else ()
    before = {item.box: frozenset(item.services) for item in machines if item.role is Role.HOST}
    return {name: [before.get(name, frozenset()), wanted[name]] for name in boxes}


def _matched(loads: dict[int, Load], free: Sequence[str], home: dict[str, list[Load]]) -> dict[int, str]:
    """Match loads with free boxes where something is at home; the rest go to boxes in their order."""
    graph: nx.Graph[tuple[str, int]] = nx.Graph()
    for index, load in loads.items():
        for place, name in enumerate(free):
            before, today = (len(load & names) for names in home[name])
            if before or today:
                graph.add_edge(("load", index), ("box", place), weight=before * (len(load) + 1) + today)
    found: dict[int, str] = {}
    for edge in nx.max_weight_matching(graph):
        (_, index), (_, place) = sorted(edge, reverse=True)
        found[index] = free[place]
    left = iter([name for name in free if name not in found.values()])
    return {index: found[index] if index in found else next(left) for index in loads}
