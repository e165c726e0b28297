"""Services, their hourly demands, and the rules that roles bring, to the domain."""

from __future__ import annotations

import math
from collections.abc import Mapping

from planner.domain.resources import RESOURCES, Demand
from planner.domain.rules import Apart, Quorum, Together
from planner.domain.services import Service
from planner.inventory.defaults.roles import DIRECTORY, DIRECTORY_APART, DIRECTORY_QUORUM, PHYSICAL_BY_ROLE
from planner.inventory.models.machines import BoxModel
from planner.inventory.models.services import RulesModel, ServiceModel
from planner.inventory.resolve.recorder import Recorder

Profile = tuple[float, ...]

SERVICE_IOPS = 20.0
SERVICE_NETWORK_MBPS = 10.0
LIGHT_USE = "light office use, assumed"
DAY_H = 24


def slots_of(services: Mapping[str, ServiceModel]) -> int:
    """Compute the number of hours that the longest profile of any service has: 1, 24 or 168."""
    return max(len(profile) for model in services.values() for profile in _profiles(model))


def _profiles(model: ServiceModel) -> tuple[Profile, ...]:
    given: tuple[Profile | None, ...] = (model.load, *(getattr(model, name) for name in RESOURCES))
    return tuple(profile for profile in given if profile is not None)


def spread(profile: Profile, slots: int) -> Profile:
    """Repeat a day's profile over the week where the site has weekly profiles; one value stays one value."""
    return profile * (slots // DAY_H) if len(profile) == DAY_H else profile


def _cpu(model: ServiceModel, box: BoxModel | None) -> Profile:
    if model.cpu is not None:
        return model.cpu
    score = box.score if box else 1.0
    return tuple((model.cores or 0.0) * score * share for share in model.load or ())


def _demand(name: str, model: ServiceModel, box: BoxModel | None, slots: int, recorder: Recorder) -> Demand:
    path, take = f"services.{name}", recorder.take
    cpu = _cpu(model, box)
    vcpu = (model.cores or max(1.0, math.ceil(max(cpu))),)
    iops, network_mbps = (SERVICE_IOPS,), (SERVICE_NETWORK_MBPS,)
    rate = f"{SERVICE_NETWORK_MBPS:g} Mbit/s"
    worked_out = {
        "cpu": cpu,
        "vcpu": take(model.vcpu, vcpu, f"{path}.vcpu", f"{vcpu[0]:g}", "its cores, or its CPU rounded up"),
        "iops": take(model.iops, iops, f"{path}.iops", f"{SERVICE_IOPS:g}", LIGHT_USE),
        "network_mbps": take(model.network_mbps, network_mbps, f"{path}.network", rate, LIGHT_USE),
    }
    profiles = {name: getattr(model, name) for name in RESOURCES} | worked_out
    return Demand(**{name: spread(profile, slots) for name, profile in profiles.items()})


def resolve_service(
    name: str, model: ServiceModel, box: BoxModel | None, slots: int, recorder: Recorder
) -> Service:
    """Make a service; its CPU counts in reference cores."""
    flags = {"vcpu": model.vcpu, "iops": model.iops, "network": model.network_mbps}
    return Service(
        name=name,
        box=model.box,
        demand=_demand(name, model, box, slots, recorder),
        physical=_physical(model, f"services.{name}", recorder),
        stay_on=model.stay_on,
        needs=frozenset(model.needs),
        zone=model.zone,
        roles=frozenset(model.roles),
        restart=model.restart == "required",
        downtime_min=model.downtime_min,
        depends_on=model.depends_on,
        method=model.method,
        method_said="method" in model.model_fields_set,
        assumed=frozenset(word for word, given in flags.items() if given is None),
    )


def _physical(model: ServiceModel, path: str, recorder: Recorder) -> str | None:
    if model.stay_physical is False:
        return None
    if isinstance(model.stay_physical, str):
        return model.stay_physical
    for role in model.roles:
        if role in PHYSICAL_BY_ROLE:
            recorder.note(f"{path}.stay_physical", PHYSICAL_BY_ROLE[role], f"role {role}, trade habit")
            return PHYSICAL_BY_ROLE[role]
    return None


def directories(services: Mapping[str, ServiceModel]) -> tuple[str, ...]:
    """List the names of the directory servers."""
    return tuple(name for name, model in services.items() if DIRECTORY in model.roles)


def quorum_waived(services: Mapping[str, ServiceModel]) -> bool:
    """Say whether every directory server says ``stay_physical: no``."""
    names = directories(services)
    return bool(names) and all(services[name].stay_physical is False for name in names)


def resolve_rules(
    model: RulesModel, services: Mapping[str, ServiceModel], recorder: Recorder
) -> tuple[tuple[Together, ...], tuple[Apart, ...], tuple[Quorum, ...]]:
    """Make the rules that are written, and those that directory servers bring."""
    together = [Together(frozenset(rule.services), rule.because) for rule in model.together]
    apart = [Apart(frozenset(rule.services), rule.because) for rule in model.apart]
    quorums = [Quorum(frozenset(rule.services), rule.physical, rule.because) for rule in model.quorum]
    names = directories(services)
    everyone = frozenset(names)
    if len(names) > 1 and not any(everyone <= rule.services for rule in apart):
        apart.append(Apart(everyone, DIRECTORY_APART))
        recorder.note("rules.apart", ", ".join(names), DIRECTORY_APART)
    if names and not quorum_waived(services) and not any(everyone <= rule.services for rule in quorums):
        quorums.append(Quorum(everyone, 1, DIRECTORY_QUORUM))
        recorder.note("rules.quorum", f"1 of {', '.join(names)} stays physical", DIRECTORY_QUORUM)
    return tuple(together), tuple(apart), tuple(quorums)
