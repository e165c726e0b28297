"""The trade's order of waves: what kind of thing goes first (common practice)."""

from __future__ import annotations

from enum import IntEnum

from planner.domain import practice
from planner.domain.order import Sort
from planner.moves.tasks.work_packages import Work


class Tier(IntEnum):
    """The place of a block in the trade's order."""

    INFRASTRUCTURE = 0
    PILOT = 1
    UTILITIES = 2
    APPLICATIONS = 3
    DATA = 4
    DIRECTORY = 5
    LAST = 6


TIER_NAMES = {
    Tier.INFRASTRUCTURE: "Infrastructure",
    Tier.PILOT: "Pilot",
    Tier.UTILITIES: "Utilities",
    Tier.APPLICATIONS: "Applications",
    Tier.DATA: "Databases, mail and files",
    Tier.DIRECTORY: "Directory and name servers",
    Tier.LAST: "Last moves and retirement",
}
FIRST = frozenset({Sort.BRING_IN, Sort.PREPARE, Sort.COOLING_ON})
COMPANIONS = frozenset(
    {Sort.REUSE, Sort.REPLUG, Sort.HOLD, Sort.MEASURE, Sort.COOLING_ON, Sort.COOLING_OFF, Sort.RETIRE}
)
"""What may be done in any wave that has the hours for it."""


def tier_of(work: Work, name: str) -> Tier:
    """Look up the tier of a block: that of the most delicate service it moves."""
    block = work.block[name]
    if not block.moves:
        return Tier.INFRASTRUCTURE if block.sorts & FIRST else Tier.LAST
    if name in work.pilot:
        return Tier.PILOT
    return max(_service_tier(work, service) for service in block.moves)


def _service_tier(work: Work, name: str) -> Tier:
    service = work.change.site.service[name]
    if service.roles & practice.DIRECTORY_ROLES:
        return Tier.DIRECTORY
    if service.roles & practice.DATA_ROLES:
        return Tier.DATA
    if service.roles & practice.CRITICAL_ROLES or service.physical:
        return Tier.LAST
    return Tier.UTILITIES if service.roles & practice.UTILITY_ROLES else Tier.APPLICATIONS


def is_companion(work: Work, name: str) -> bool:
    """Say whether a block may go into any wave that has the hours."""
    block = work.block[name]
    return not block.moves and block.sorts <= COMPANIONS
