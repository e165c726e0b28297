"""What the plan page says of lost hosts: where services restart, and what is accepted to stay off."""

from __future__ import annotations

from collections.abc import Iterator

from planner.domain.machines import Role
from planner.domain.plan import Plan
from planner.domain.services import Service
from planner.domain.site import Site
from planner.domain.state import Machine, State
from planner.report.plan.page import RestartEntry, SinglePointEntry


def restart_entries(plan: Plan) -> tuple[RestartEntry, ...]:
    """Look up, for each loss that is planned for, where services restart."""
    return tuple(RestartEntry(item.lost, item.to, item.stays_off) for item in plan.restarts)


def single_point_entries(site: Site, state: State) -> tuple[SinglePointEntry, ...]:
    """Find the services that no spare host brings back, and why; none where no spare is asked for."""
    return tuple(_single_points(site, state)) if site.policy.spare_hosts else ()


def _single_points(site: Site, state: State) -> Iterator[SinglePointEntry]:
    for service in site.services:
        machine = state.where(service.name)[0]
        reason = _reason(service, machine)
        if reason:
            yield SinglePointEntry(service.name, machine.name, reason)


def _reason(service: Service, machine: Machine) -> str:
    if machine.role is not Role.HOST:
        why = f": {service.physical}" if service.physical is not None else ""
        return f"it is no guest{why}"
    if service.stay_on is not None:
        return f"it is tied to {service.stay_on}"
    return "" if service.restart else "its restart is optional"
