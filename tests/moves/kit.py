"""Small sites for orders of moves, written by hand."""

from __future__ import annotations

from dataclasses import replace

from planner.domain.machines import Role
from planner.domain.resources import Demand
from planner.domain.services import Service
from planner.domain.site import Site
from planner.domain.state import Machine, State, state_today
from tests.kit.sites import plain_site


def small(disk_gb: float = 10.0) -> Demand:
    """Make a light demand."""
    return Demand((0.1,), (1.0,), (1.0,), (disk_gb,), (5.0,), (5.0,))


def site_with(*services: Service) -> Site:
    """Make the plain site with other services, all light."""
    return replace(plain_site(), services=services)


def service(name: str, box: str = "alder", **more: object) -> Service:
    """Make a light service on a box."""
    return replace(Service(name, box, small()), **more)  # type: ignore[arg-type]


def onto_host(site: Site, *names: str, keep: bool = False) -> State:
    """Make a state with some services on one bought host, the others where they are, empty boxes off."""
    moved = names or tuple(item.name for item in site.services)
    host = Machine("host-1", Role.HOST, "circuit-a", moved, kind="quiet-host")
    boxes = [
        replace(machine, services=tuple(name for name in machine.services if name not in moved))
        for machine in state_today(site).machines
    ]
    left = tuple(machine for machine in boxes if machine.services or keep)
    return State((host, *left), cooling=state_today(site).cooling)


def wave_of(order_waves: tuple[tuple[str, ...], ...], name: str) -> int:
    """Compute the number of the wave that moves a service."""
    return next(number for number, names in enumerate(order_waves) if name in names)
