"""A packing instance as a site: items are services, bins are kinds of host, the cost of the bins is the aim.

An instance is a mapping ``{"dims", "bins": [{"cap", "cost", ("available"), ("label")}], "items": [{"size",
"count"}], "conflicts": [[i, j]]}``, the form in which published instances of vector packing are kept. Where
a size has more figures than there are resources, it gives one for each of 24 or 168 hours, resource after
resource. Nothing sounds, and heat and circuits never bind.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from planner.domain.air import Room, Season
from planner.domain.machines import Box, Circuit, Kind, Role, Spec, Supply
from planner.domain.resources import INSTALLED, Demand
from planner.domain.rules import Aim, Apart, Policy
from planner.domain.services import Service
from planner.domain.site import Site
from planner.domain.sound import Sound

HOURS = (24, 168)

NOWHERE = "nowhere"
"""The box on which every item lies today; it offers no bin, so nothing can be kept there."""

BIN = frozenset(("a bin",))

SILENT = Sound((0.0,) * 8, (0.0,) * 8)

AMPLE = 10.0
"""How many times what could be drawn at most the circuit and the walls can take."""


def site_of(instance: Mapping[str, Any]) -> Site:
    """Build the site of a packing instance, of which the cheapest plan is the cheapest packing.

    Raises ValueError where it cannot be read as one.
    """
    dims, bins = int(instance["dims"]), list(instance["bins"])
    hours = _hours(dims)
    copies = list(_copies(instance["items"], dims))
    services = tuple(_service(name, size, hours) for name, _, size in copies)
    kinds = tuple(_kind(number, bin_, dims, hours, len(services)) for number, bin_ in enumerate(bins, 1))
    ample_w = AMPLE * len(services) * max([1.0, *(kind.spec.peak_w for kind in kinds)])
    return Site(
        name=str(instance.get("name", "packing instance")),
        currency="",
        room=Room(1.0, 1.0, 1.0, (), ample_w),
        listeners=(),
        seasons=(Season("always", 0.0, 8760.0),),
        supply=Supply((Circuit("main", 230.0, ample_w / 230.0, ample_w),), 0.0),
        cooling=(),
        policy=Policy(
            aims=(Aim.COST,), headroom={}, host_memory_gib=0.0, guest_memory_gib=0.0, host_cpu_share=0.0
        ),
        boxes=(_nowhere(services),),
        services=services,
        gear=(),
        kinds=kinds,
        measures=(),
        apart=tuple(_apart(instance.get("conflicts", ()), copies)),
        slots=hours,
    )


def _hours(dims: int) -> int:
    """Compute how many hours the figures of a size are for."""
    if 1 <= dims <= len(INSTALLED):
        return 1
    fitting = [hours for hours in HOURS if dims % hours == 0 and dims // hours <= len(INSTALLED)]
    if dims < 1 or not fitting:
        raise ValueError(
            f"a size of {dims} figures: at most {len(INSTALLED)} resources, or each for 24 or 168 hours"
        )
    return fitting[0]


def _copies(items: Sequence[Mapping[str, Any]], dims: int) -> Iterator[tuple[str, int, tuple[float, ...]]]:
    """List name, item number and size of every single item."""
    for number, item in enumerate(items):
        size, count = tuple(float(figure) for figure in item["size"]), int(item.get("count", 1))
        if len(size) != dims:
            raise ValueError(f"item {number} has a size of {len(size)} figures instead of {dims}")
        if min(size) < 0.0:
            raise ValueError(f"item {number} has a size of {min(size):g}, and no size is below 0")
        for copy in range(1, count + 1):
            yield f"item-{number}" if count == 1 else f"item-{number}.{copy}", number, size


def _by_resource(size: Sequence[float], hours: int) -> dict[str, tuple[float, ...]]:
    """Look up a size's figures by resource; resources it does not speak of are not taken."""
    given = {
        name: tuple(size[start : start + hours])
        for name, start in zip(INSTALLED, range(0, len(size), hours), strict=False)
    }
    return {name: given.get(name, (0.0,)) for name in INSTALLED}


def _service(name: str, size: tuple[float, ...], hours: int) -> Service:
    demand = Demand(vcpu=(0.0,), **_by_resource(size, hours))
    return Service(name, NOWHERE, demand, needs=BIN)


def _kind(number: int, bin_: Mapping[str, Any], dims: int, hours: int, items: int) -> Kind:
    """Build a kind of bin; it draws as many watts as it costs, so that a start by watts is a good one."""
    capacity, cost = tuple(float(figure) for figure in bin_["cap"]), float(bin_["cost"])
    if len(capacity) != dims:
        raise ValueError(f"bin {number} has a capacity of {len(capacity)} figures instead of {dims}")
    there = {}
    for resource, figures in _by_resource(capacity, hours).items():
        if len(set(figures)) > 1:
            raise ValueError(f"bin {number}: its {resource} changes from hour to hour, which no host's does")
        there[resource] = figures[0]
    spec = _spec(there, cost, BIN)
    available = bin_.get("available")
    units = items if available is None else int(available)
    return Kind(str(bin_.get("label", f"bin-{number}")), Role.HOST, spec, cost, units)


def _spec(there: Mapping[str, float], watts: float, offers: frozenset[str]) -> Spec:
    usable = {name: there[name] if there[name] > 0.0 else 1e-9 for name in INSTALLED}
    return Spec(
        **usable, cores=1.0, idle_w=watts, peak_w=watts, sound=SILENT, rack_u=0, offers=offers, zones=1
    )


def _nowhere(services: Sequence[Service]) -> Box:
    """Build the box that holds everything today, large enough to be no oddity, and draws nothing."""
    total = {
        resource: 1.0 + math.fsum(max(getattr(service.demand, resource), default=0.0) for service in services)
        for resource in INSTALLED
    }
    return Box(NOWHERE, _spec(total, 0.0, frozenset()), "main")


def _apart(
    pairs: Sequence[Sequence[int]], copies: Sequence[tuple[str, int, tuple[float, ...]]]
) -> Iterator[Apart]:
    """Build the rules of conflicts, pairs gathered to cliques where every two of them conflict."""
    names: dict[int, list[str]] = {}
    for name, number, _ in copies:
        names.setdefault(number, []).append(name)
    conflicts: dict[str, set[str]] = {}
    for left, right in pairs:
        for one in names[left]:
            for other in names[right]:
                if one != other:
                    conflicts.setdefault(one, set()).add(other)
                    conflicts.setdefault(other, set()).add(one)
    for clique in _cliques(conflicts):
        yield Apart(frozenset(clique), "they conflict")


def _cliques(conflicts: Mapping[str, set[str]]) -> Iterator[list[str]]:
    """Search for cliques that cover every pair, each grown greedily by what covers most new pairs."""
    open_pairs = {name: set(others) for name, others in conflicts.items()}
    for first in conflicts:
        while open_pairs[first]:
            clique = [first]
            common = set(conflicts[first])
            while common:
                best = max(sorted(common), key=lambda name: len(open_pairs[name].intersection(clique)))
                if not open_pairs[best].intersection(clique):
                    break
                clique.append(best)
                common &= conflicts[best]
            for name in clique:
                open_pairs[name].difference_update(clique)
            yield clique
