"""The whole file to the `Site`."""

from __future__ import annotations

from dataclasses import replace

from planner.domain.air import Cooling, Season
from planner.domain.resources import INSTALLED, RESOURCES
from planner.domain.rules import Aim, Policy
from planner.domain.site import Site
from planner.inventory.models.resources import HeadroomModel
from planner.inventory.models.root import InventoryModel, PolicyModel
from planner.inventory.resolve.machines import resolve_box, resolve_gear, resolve_kind
from planner.inventory.resolve.measures import least_draws_w, resolve_measure
from planner.inventory.resolve.places import (
    resolve_cooling,
    resolve_listener,
    resolve_room,
    resolve_seasons,
    resolve_supply,
)
from planner.inventory.resolve.recorder import Recorder, percent
from planner.inventory.resolve.services import resolve_rules, resolve_service, slots_of
from planner.inventory.resolve.windows import resolve_windows

POLICY_DEFAULTS = (
    ("vcpu_per_core", "vcpu_per_core", "{:g}", "light office use: 4 to 6"),
    ("host_memory_gib", "host_memory", "{:g} GiB", "2 to 4 GiB, from memory"),
    ("guest_memory_gib", "guest_memory", "{:g} GiB", "0.1 to 0.5 GiB for each guest"),
    ("host_cpu_share", "host_cpu_share", "{:.0%}", "5 to 15 % typical"),
    ("labour_per_hour", "labour_per_hour", "{:g}", "own work counts nothing"),
    ("inlet_limit_c", "inlet_limit", "{:g} °C", "top of the usual range"),
    ("alarm_c", "alarm", "{:g} °C", "top of the air allowed for class A2"),
    ("equipment_class", "equipment", "{}", "most servers of offices"),
)
"""Figure of the domain's policy, its key in the file, how it is written, and why its default is sound."""


def resolve_site(model: InventoryModel, file_stem: str, recorder: Recorder) -> Site:
    """Make the site from a file without mistakes."""
    take = recorder.take
    seasons = resolve_seasons(dict(model.seasons) if model.seasons else None, recorder)
    only = next(iter(model.supply.circuits))
    owners = (model.boxes, model.gear, model.catalogue)
    on_ups = any(getattr(item, "ups", False) for items in owners for item in items.values())
    together, apart, quorums = resolve_rules(model.rules, model.services, recorder)
    slots = slots_of(model.services)
    room = recorder.room = resolve_room(model.room, recorder)
    site = Site(
        name=take(model.site.name, file_stem, "site.name", file_stem, "name of the file"),
        currency=take(model.site.currency, "EUR", "site.currency", "EUR", "write yours"),
        room=room,
        listeners=tuple(resolve_listener(name, item, recorder) for name, item in model.listeners.items()),
        seasons=seasons,
        supply=resolve_supply(model.supply, on_ups, recorder),
        cooling=_cooling(model, only, seasons, recorder),
        policy=_policy(model.policy, recorder),
        boxes=tuple(
            resolve_box(name, item, item.circuit or only, recorder) for name, item in model.boxes.items()
        ),
        services=tuple(
            resolve_service(name, item, model.boxes.get(item.box), slots, recorder)
            for name, item in model.services.items()
        ),
        gear=tuple(
            resolve_gear(name, item, item.circuit or only, recorder) for name, item in model.gear.items()
        ),
        kinds=tuple(resolve_kind(name, item, recorder) for name, item in model.catalogue.items()),
        measures=(),
        together=together,
        apart=apart,
        quorums=quorums,
        slots=slots,
    )
    draws_w = least_draws_w(site)
    measures = tuple(
        resolve_measure(name, item, draws_w.get(item.target, 0.0), recorder)
        for name, item in model.measures.items()
    )
    return replace(site, measures=measures, windows=resolve_windows(model.windows, recorder))


def _cooling(
    model: InventoryModel, only: str, seasons: tuple[Season, ...], recorder: Recorder
) -> tuple[Cooling, ...]:
    limit_c = model.policy.inlet_limit_c
    limit_c = Policy().inlet_limit_c if limit_c is None else limit_c
    return tuple(
        resolve_cooling(name, item, item.circuit or only, seasons, limit_c, recorder)
        for name, item in model.cooling.items()
    )


def _policy(model: PolicyModel, recorder: Recorder) -> Policy:
    usual = Policy()
    aims = model.aims or ()
    rest = tuple(aim for aim in Aim if aim not in aims)
    if rest:
        words = ", ".join((*aims, *rest))
        recorder.note("policy.aims", words, "sound first, as little change as possible last")
    figures = {
        field: recorder.take(
            getattr(model, field),
            getattr(usual, field),
            f"policy.{key}",
            written.format(getattr(usual, field)),
            why,
        )
        for field, key, written, why in POLICY_DEFAULTS
    }
    return Policy(
        aims=(*aims, *rest),
        headroom=_headroom(model.headroom, recorder),
        budget=model.budget,
        monthly_budget=model.monthly_budget,
        spare_hosts=recorder.take(model.spare_hosts, 0, "policy.spare_hosts", "0", "no spare host asked for"),
        **figures,
    )


def _headroom(model: HeadroomModel, recorder: Recorder) -> dict[str, float]:
    found = {}
    for name in INSTALLED:
        key, usual = RESOURCES[name].key, RESOURCES[name].headroom
        why = "kept free after consolidation, trade habit" if usual else "handed out whole"
        found[name] = recorder.take(getattr(model, key), usual, f"policy.headroom.{key}", percent(usual), why)
    return found
