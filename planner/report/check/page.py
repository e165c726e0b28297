"""What `check` says of an inventory file, as data."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from planner.domain.hazards import TEXTS
from planner.domain.site import Site
from planner.inventory.loaded import Default, Loaded
from planner.inventory.text.conversions import Conversion
from planner.inventory.text.errors import InventoryError, Problem
from planner.ledger import today_ledger
from planner.ledger.stay import levels_inside, with_somebody_inside
from planner.physics.exposure import EXPOSURE_LIMITS, LOUD_DBA, allowed_hours
from planner.report.common.assumed import assumed_entries
from planner.report.common.entries import AssumedEntry
from planner.report.common.json_data import Document


@dataclass(frozen=True, kw_only=True)
class CheckPage(Document):
    """What 'stillroom check' says of a file: what is wrong with it, and what it leaves open.

    ``usable``: a plan can be made from it; ``counts``: what it holds;
    ``conversions``: figures in units of the trade, and how they were read.
    """

    format: Literal["stillroom.check"] = "stillroom.check"
    version: Literal[1] = 1
    file: str
    usable: bool
    site: str | None
    counts: dict[str, int]
    errors: tuple[Problem, ...] = ()
    warnings: tuple[Problem, ...] = ()
    conversions: tuple[Conversion, ...] = ()
    defaults: tuple[Default, ...] = ()
    assumed: tuple[AssumedEntry, ...] = ()


def page_of_error(file: str, error: InventoryError) -> CheckPage:
    """Build the page of a file that cannot be used."""
    return CheckPage(file=file, usable=False, site=None, counts={}, errors=tuple(error.problems))


def page_of_site(file: str, loaded: Loaded) -> CheckPage:
    """Build the page of a file that was read without mistakes."""
    site = loaded.site
    parts = (
        ("box", site.boxes),
        ("service", site.services),
        ("gear", site.gear),
        ("kind", site.kinds),
        ("cooling option", site.cooling),
        ("measure", site.measures),
        ("listener", site.listeners),
        ("circuit", site.supply.circuits),
    )
    return CheckPage(
        file=file,
        usable=True,
        site=site.name,
        counts={name: len(things) for name, things in parts},
        warnings=(*loaded.warnings, *_loud_places(file, site)),
        conversions=loaded.conversions,
        defaults=loaded.defaults,
        assumed=assumed_entries(site),
    )


def _loud_places(file: str, site: Site) -> Iterator[Problem]:
    """Say of each loud place in the room how long one may stay there today."""
    room = with_somebody_inside(site)
    for name, level_dba in levels_inside(room, today_ledger(room)).items():
        if level_dba >= LOUD_DBA:
            minutes = {limit: int(60.0 * allowed_hours(level_dba, limit)) for limit in EXPOSURE_LIMITS}
            stays = " and ".join(
                f"{minutes[limit]} min by {limit} ({rule.criterion_dba:g} dBA for 8 h)"
                for limit, rule in EXPOSURE_LIMITS.items()
            )
            said = f"in the room, {name}, it is {level_dba:.0f} dBA today: one may stay {stays} a day."
            yield Problem(file, None, "room", said, TEXTS["hearing"])
