"""Tiny and middling sites that ask for a spare host, with enough hosts to choose from."""

from __future__ import annotations

from dataclasses import replace

from planner.domain.machines import Role
from planner.domain.site import Site
from tests.kit.sites import medium_site, random_site


def spare_site(seed: int, slots: int | None = None, spare: int = 1) -> Site:
    """Make a random site of 3 to 5 services that asks for spare hosts; about half have a plan with one.

    Every second box is a host already, every third site has two kinds of host; gear and measures are left
    out, so that what hosts carry decides.
    """
    two_kinds = seed % 3 == 0
    site = random_site(
        seed,
        boxes=2,
        services=3 + seed % (2 if two_kinds else 3),
        gear=0,
        measures=0,
        cooling=1,
        room_measures=0,
        seasons=1,
        max_units=3 if spare > 1 else 2 if two_kinds else 2 + seed // 2 % 2,
        slots=slots,
    )
    boxes = tuple(
        replace(box, hosts_today=True, may_host=True) if (seed + index) % 2 else box
        for index, box in enumerate(site.boxes)
    )
    if two_kinds:
        first, second = site.kinds
        site = replace(site, kinds=(first, replace(second, role=Role.HOST)))
    budget = None if seed % 5 or spare > 1 else 5000.0
    return with_spare(replace(site, boxes=boxes, policy=replace(site.policy, budget=budget)), spare)


def middling_site(seed: int, spare: int = 1) -> Site:
    """Make a random site of 8 to 11 services that asks for spare hosts."""
    site = medium_site(seed, services=8 + seed % 4)
    kinds = tuple(replace(kind, max_units=4) for kind in site.kinds)
    return with_spare(replace(site, kinds=kinds), spare)


def with_spare(site: Site, spare: int = 1) -> Site:
    """Make a site with spare hosts asked for."""
    return replace(site, policy=replace(site.policy, spare_hosts=spare))
