"""Rules about services: each is carried, where it may be, and with whom it must or must not be."""

from __future__ import annotations

from collections.abc import Iterator

from planner.domain.machines import Role
from planner.domain.state import State
from planner.verify.trial import Finding, Trial, listed

MOST_COPIES_MOVING = 2


def service_once(trial: Trial) -> Iterator[Finding]:
    """Every service runs exactly once; on the way it may run on two machines, while it is copied."""
    most = MOST_COPIES_MOVING if trial.moving else 1
    for service in trial.site.services:
        counts = [machine.services.count(service.name) for machine in trial.carriers(service.name)]
        if not counts:
            yield service.name, f"{service.name} is carried by no machine"
        elif sum(counts) > most or max(counts) > 1:
            names = ", ".join(machine.name for machine in trial.carriers(service.name))
            yield service.name, f"{service.name} is carried {sum(counts)} times ({names}), at most {most}"


def physical(trial: Trial) -> Iterator[Finding]:
    """A service that must not be a guest is on no host."""
    for service in trial.site.services:
        for machine in trial.carriers(service.name):
            guest = machine.role is Role.HOST and not trial.excused(machine, (service.name,))
            if service.physical is not None and guest:
                sentence = f"{service.name} is a guest on {machine.name}, but must not be: {service.physical}"
                yield service.name, sentence


def stay_on(trial: Trial) -> Iterator[Finding]:
    """A service that is tied to a box is on it."""
    for service in trial.site.services:
        boxes = {machine.box for machine in trial.carriers(service.name)}
        fixed = service.stay_on is None or service.stay_on in boxes
        waits = trial.moving and service.stay_on != service.box and boxes == {service.box}
        if not fixed and not waits:
            names = ", ".join(machine.name for machine in trial.carriers(service.name)) or "nowhere"
            yield service.name, f"{service.name} is on {names}; it must stay on {service.stay_on}"


def needs(trial: Trial) -> Iterator[Finding]:
    """A machine offers what its services need."""
    for machine in trial.state.machines:
        offers = machine.spec(trial.site).offers
        for name in machine.services:
            missing = trial.site.service[name].needs - offers
            if missing and not trial.excused(machine, (name,)):
                yield name, f"{name} needs {listed(missing)}, which {machine.name} does not offer"


def zones(trial: Trial) -> Iterator[Finding]:
    """A machine carries no more zones than it keeps apart."""
    for machine in trial.state.machines:
        carried = {trial.site.service[name].zone for name in machine.services}
        most = machine.spec(trial.site).zones
        if len(carried) > most and not trial.excused(machine):
            yield (
                machine.name,
                f"{machine.name} carries {len(carried)} zones ({listed(carried)}), at most {most}",
            )


def together(trial: Trial) -> Iterator[Finding]:
    """Services that must share a machine do; on the way, one machine still has them all if one had today."""
    for rule in trial.site.together:
        homes = {machine.name for name in rule.services for machine in trial.carriers(name)}
        shared = _all_on_one(trial.state, rule.services)
        on_the_way = trial.moving and (shared or not _all_on_one(trial.today, rule.services))
        if len(homes) > 1 and not on_the_way:
            sentence = f"{listed(rule.services)} must share a machine ({rule.because}); they are on "
            yield listed(rule.services), sentence + listed(homes)


def _all_on_one(state: State, services: frozenset[str]) -> bool:
    return any(services.issubset(machine.services) for machine in state.machines)


def apart(trial: Trial) -> Iterator[Finding]:
    """No two services that must be apart share a machine."""
    for rule in trial.site.apart:
        for machine in trial.state.machines:
            both = rule.services.intersection(machine.services)
            if len(both) > 1 and not trial.excused(machine, both):
                yield machine.name, f"{listed(both)} share {machine.name}, but must be apart: {rule.because}"


def quorum(trial: Trial) -> Iterator[Finding]:
    """Enough services of a quorum run outside hosts; on the way, at least no fewer than today."""
    for rule in trial.site.quorums:
        outside = _outside_hosts(trial.state, rule.services)
        today = _outside_hosts(trial.today, rule.services)
        required = min(rule.physical, today) if trial.moving else rule.physical
        if outside < required:
            sentence = f"{outside} of {listed(rule.services)} run outside hosts, at least {required} must"
            yield listed(rule.services), f"{sentence}: {rule.because}"


def _outside_hosts(state: State, services: frozenset[str]) -> int:
    return sum(any(machine.role is not Role.HOST for machine in state.where(name)) for name in services)
