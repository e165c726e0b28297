"""What services take of a machine and what it has for them, by resource and hour: the one arithmetic of it.

Whatever plans, schedules or reports asks here; the judge alone adds up for itself (`verify.plan.capacity`).
Demands add up hour by hour; on a host they count with the guests' overhead. A share of what is installed
stays free on all but boxes left as they are, and a host takes memory itself. Figures are in the resource's
unit (`domain.resources`); what is not limited is infinite.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, NamedTuple, TypeVar

from planner.domain.machines import Role, Spec
from planner.domain.resources import RESOURCES
from planner.domain.services import Service
from planner.domain.site import Site
from planner.ledger.draw import cpu_factor

if TYPE_CHECKING:
    import numpy as np

Amount = TypeVar("Amount", float, "np.ndarray[tuple[int], np.dtype[np.float64]]")


class Overhead(NamedTuple):
    """What guests cost their host: a factor on what they take, and an amount ``each``."""

    factor: float = 1.0
    each: float = 0.0

    def added(self, taken: Amount, guests: int) -> Amount:
        """Add it to what a number of guests take, in an hour or in each of several."""
        return taken * self.factor + self.each * guests


NONE = Overhead()


def overhead(site: Site, role: Role, resource: str) -> Overhead:
    """Look up what services on a machine in a role cost it of a resource beside what they take."""
    if role is not Role.HOST:
        return NONE
    if resource == "cpu":
        return Overhead(factor=cpu_factor(site, role))
    return Overhead(each=site.policy.guest_memory_gib) if resource == "memory_gib" else NONE


def own(site: Site, role: Role, resource: str) -> float:
    """Look up what a machine in a role takes of its own resource, guests or not."""
    return site.policy.host_memory_gib if role is Role.HOST and resource == "memory_gib" else 0.0


def kept_free(site: Site, role: Role, resource: str) -> float:
    """Look up the share of a resource that stays free on a machine in a role."""
    if role is Role.BARE or RESOURCES[resource].allotted:
        return 0.0
    return site.policy.headroom.get(resource, 0.0)


def limit(site: Site, spec: Spec, role: Role, resource: str) -> float:
    """Compute what a machine may be loaded with, what it takes itself included; inf where nothing limits."""
    if resource == "vcpu":
        return site.policy.vcpu_per_core * spec.cores if role is Role.HOST else math.inf
    installed: float = getattr(spec, resource)
    return installed * (1.0 - kept_free(site, role, resource))


def usable(site: Site, spec: Spec, role: Role, resource: str) -> float:
    """Compute what a machine has for services, their overhead included; inf where nothing limits."""
    return limit(site, spec, role, resource) - own(site, role, resource)


def needed(
    site: Site, role: Role, groups: Iterable[Sequence[Service]], resource: str, hour: int
) -> list[float]:
    """Compute what each group of services takes of a machine in a role in an hour, overhead included."""
    factor, each = overhead(site, role, resource)
    return [
        math.fsum([service.demand.at(resource, hour) for service in group]) * factor + each * len(group)
        for group in groups
    ]


def most_needed(site: Site, role: Role, services: Sequence[Service], resource: str) -> float:
    """Compute what services take of a machine in a role in their worst hour, overhead included."""
    demands = [service.demand.by_hour(resource) for service in services]
    hours = max(map(len, demands), default=1)
    if hours == 1:
        worst = math.fsum([demand[0] for demand in demands])
    else:
        spread = [demand if len(demand) > 1 else demand * hours for demand in demands]
        worst = max(map(math.fsum, zip(*spread, strict=True)))
    return overhead(site, role, resource).added(worst, len(services))
