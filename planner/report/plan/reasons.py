"""Why a service or a box ends where it does, in a sentence."""

from __future__ import annotations

from collections.abc import Iterator

from planner.domain.machines import Role
from planner.domain.plan import Fate, fate, stays_put
from planner.domain.services import Service
from planner.domain.site import Site
from planner.domain.state import Machine, State
from planner.report.common.figures import listed, plural

FREE_TO_STAY = "no rule holds it; nothing better was found"


def service_reason(site: Site, state: State, name: str) -> str:
    """Write the rules that decide about a service; for one left in place without a rule, say so."""
    service = site.service[name]
    machine = state.where(name)[0]
    rules = [*_rules(site, service, machine), *_group_rules(site, state, service)]
    if not rules and stays_put(site, machine, name):
        return _box_stays(site, machine) or FREE_TO_STAY
    return "; ".join(rules)


def _rules(site: Site, service: Service, machine: Machine) -> Iterator[str]:
    if service.physical is not None and machine.role is not Role.HOST:
        yield f"no guest: {service.physical}"
    if service.stay_on is not None:
        yield f"has to stay on {service.stay_on}"
    offered = sorted(service.needs & machine.spec(site).offers)
    if offered:
        yield f"needs {listed(offered)}, which {machine.name} has"


def _group_rules(site: Site, state: State, service: Service) -> Iterator[str]:
    for group in site.together:
        others = sorted(group.services - {service.name})
        if service.name in group.services and others:
            yield f"shares a machine with {listed(others)}: {group.because}"
    for quorum in site.quorums:
        if service.name in quorum.services and state.where(service.name)[0].role is not Role.HOST:
            few = f"{quorum.physical} of " if quorum.physical < len(quorum.services) else ""
            yield f"{few}{listed(sorted(quorum.services))} must be no guest: {quorum.because}"


def _box_stays(site: Site, machine: Machine) -> str:
    reason = site.box[machine.box].stays if machine.box is not None else None
    return f"{machine.name} stays on anyway: {reason}" if reason else ""


def box_reason(site: Site, state: State, name: str) -> str:
    """Say what a box is there for afterwards, or why it may be switched off."""
    box = site.box[name]
    carried = tuple(
        service for machine in state.machines if machine.box == name for service in machine.services
    )
    end = fate(site, state, name)
    if end is Fate.REUSE:
        return f"becomes a host for {plural(len(carried), 'service')}"
    if end is Fate.RETIRE:
        had = sum(service.box == name for service in site.services)
        return f"its {plural(had, 'service')} run elsewhere" if had > 1 else _alone(had)
    if box.stays is not None:
        return box.stays
    return f"carries {listed(carried)}" if carried else "stays on, carrying nothing"


def _alone(had: int) -> str:
    return "its service runs elsewhere" if had else "no service runs on it"
