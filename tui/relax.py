"""From the words of a conflict to the form in which the person can let something give way."""

from __future__ import annotations

import re
from dataclasses import dataclass

from planner.domain.site import Site
from planner.inventory.editing import Document
from planner.inventory.text.errors import Path

RESOURCE_FIELDS = (
    ("virtual c", "vcpu"),
    ("memory", "memory"),
    ("disk operations", "iops"),
    ("disk", "disk"),
    ("network", "network"),
    ("CPU", "cpu"),
)


@dataclass(frozen=True)
class Way:
    """Something that may give way: what to call it, where it stands, and the field to begin at."""

    label: str
    entry: Path
    field: Path | None = None


def ways_out(site: Site, document: Document, reasons: tuple[str, ...]) -> list[Way]:
    """Give what may give way, in the order in which the conflict names it."""
    found: list[Way] = []
    for reason in reasons:
        found += _limits(reason)
        found += _rules(document, reason)
        found += _services(site, document, reason)
        found += _machines(site, document, reason)
    return list(dict.fromkeys(found))


def _limits(reason: str) -> list[Way]:
    ways = []
    if "budget" in reason:
        ways.append(Way("the budget", ("policy",), ("budget",)))
    if "rack" in reason:
        ways.append(Way("the rack's height", ("room",), ("rack_units",)))
    if "headroom" in reason:
        ways.append(Way("the headroom kept free", ("policy",), ("headroom", "cpu")))
    if "out of the room" in reason or "°C" in reason:
        ways.append(Way("the warmest air allowed", ("policy",), ("inlet_limit",)))
    if "circuit" in reason:
        ways.append(Way("the supply and its circuits", ("supply",), ("circuits",)))
    return ways


def _names(reason: str, name: str) -> bool:
    return re.search(rf"(?<![\w-]){re.escape(name)}(?![\w-])", reason) is not None


def _rules(document: Document, reason: str) -> list[Way]:
    ways = []
    for word in ("together", "apart", "quorum"):
        for index, rule in enumerate(document.get(("rules", word)) or []):
            named = [name for name in rule.get("services", []) if _names(reason, str(name))]
            if len(named) > 1:
                label = f"the rule {word}: {', '.join(map(str, rule['services']))}"
                ways.append(Way(label, ("rules", word, index), ("services",)))
    return ways


def _services(site: Site, document: Document, reason: str) -> list[Way]:
    ways = []
    for service in site.services:
        entry: Path = ("services", service.name)
        if not _names(reason, service.name) or not document.has(entry):
            continue
        if service.physical is not None and ("physical" in reason or "guest" in reason):
            ways.append(Way(f"{service.name}: why it stays physical", entry, ("stay_physical",)))
        if service.stay_on is not None and "stays on" in reason:
            ways.append(Way(f"{service.name}: the box it stays on", entry, ("stay_on",)))
        if service.needs and "needs" in reason and "offer" in reason:
            ways.append(Way(f"{service.name}: what it needs", entry, ("needs",)))
        field = _resource(reason)
        if field is not None:
            ways.append(Way(f"{service.name}: its {field}", entry, (field,)))
    return ways


def _resource(reason: str) -> str | None:
    return next((field for words, field in RESOURCE_FIELDS if words in reason), None)


def _machines(site: Site, document: Document, reason: str) -> list[Way]:
    ways = []
    field = _resource(reason)
    for section, names in (("boxes", site.box), ("catalogue", site.kind)):
        for name in names:
            if _names(reason, name.split("@")[0]) and document.has((section, name)):
                ways.append(Way(f"{name}: what it has", (section, name), (field,) if field else None))
    return ways
