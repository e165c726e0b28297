"""What it saves that peaks of load do not coincide: the plan against one for the sum of all peaks."""

from __future__ import annotations

import threading
from dataclasses import dataclass, fields, replace

from planner.domain.machines import Role
from planner.domain.plan import Outcome, Plan, aim_value, outlay
from planner.domain.resources import Demand
from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import State
from planner.ledger import ledger
from planner.placement.params import PARAMS
from planner.placement.result import Options, Solve
from planner.verify import verify_state


@dataclass(frozen=True)
class Peaks:
    """Hosts, sound (as its aim), mean watts and money of a plan, and of the best if all peaks came at once.

    ``possible``: whether there is such a plan, None where that was not settled. ``proven``: it is the best.
    """

    hosts: int
    sound_db: float
    power_w: float
    outlay: float
    summed_hosts: int | None
    summed_sound_db: float | None
    summed_power_w: float | None
    summed_outlay: float | None
    possible: bool | None
    proven: bool


def has_profiles(site: Site) -> bool:
    """Say whether any service's load depends on the hour."""
    return site.slots > 1


def peaks(
    site: Site,
    plan: Plan,
    options: Options | None = None,
    *,
    solve: Solve,
    cancel: threading.Event | None = None,
) -> Peaks | None:
    """Plan a site by ``solve`` as if all peaks came in one hour, and compare; None without profiles."""
    if not has_profiles(site):
        return None
    summed = in_one_hour(site)
    if not verify_state(summed, plan.state):
        return _compared(site, plan.state, plan.state, plan.sure)
    options = options or Options()
    again = replace(options, time_s=min(options.time_s, PARAMS.studies.peaks_s), start=None, previous=None)
    result = solve(summed, again, cancel=cancel)
    if result.plan is None:
        none_exists = result.outcome is Outcome.INFEASIBLE
        return replace(
            _compared(site, plan.state, None, none_exists), possible=False if none_exists else None
        )
    return _compared(site, plan.state, result.plan.state, result.plan.sure and plan.sure)


def in_one_hour(site: Site) -> Site:
    """Copy the site with every service's greatest loads in the first hour, and its mean loads as they are."""
    services = tuple(replace(item, demand=_in_one_hour(item.demand)) for item in site.services)
    return replace(site, services=services)


def _in_one_hour(demand: Demand) -> Demand:
    values = {item.name: _peak_first(getattr(demand, item.name)) for item in fields(demand)}
    return replace(demand, **values)


def _peak_first(profile: tuple[float, ...]) -> tuple[float, ...]:
    """Build a profile with its peak in the first hour and the rest shared evenly: the same sum."""
    if len(profile) == 1:
        return profile
    rest = (sum(profile) - max(profile)) / (len(profile) - 1)
    return (max(profile), *[rest] * (len(profile) - 1))


def _compared(site: Site, state: State, summed: State | None, proven: bool) -> Peaks:
    hosts, sound_db, power_w, spent = _figures(site, state)
    if summed is None:
        return Peaks(hosts, sound_db, power_w, spent, None, None, None, None, None, proven)
    return Peaks(hosts, sound_db, power_w, spent, *_figures(site, summed), True, proven)


def _figures(site: Site, state: State) -> tuple[int, float, float, float]:
    """Compute hosts, the sound aim's value, mean watts and money of a state."""
    book = ledger(site, state)
    sound_db = aim_value(site, state, book, Aim.SOUND)
    hosts = sum(machine.role is Role.HOST for machine in state.machines)
    return hosts, sound_db, book.mean_power_w, outlay(site, state)
