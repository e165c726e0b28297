"""Doubts figures far outside the trade's range: a range check against one table, each range with its reason.

Ranges are common practice where no other source is named. They are wide: nothing is refused, and what is
told is nearly always a unit or a decimal that slipped.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from planner.domain.site import Site
from planner.domain.sound import Sound
from planner.inventory.checks.consistency import Finding
from planner.inventory.models.root import InventoryModel
from planner.inventory.text.errors import Path
from planner.inventory.text.units import rounded
from planner.physics.sound import a_weighted_total, distance_transfer_db


@dataclass(frozen=True)
class UsualRange:
    """The range of a figure in the trade, why it ends there, and which slip is likely beyond it."""

    what: str
    low: float
    high: float
    unit: str
    reason: str
    slip: str


RANGES: Mapping[str, UsualRange] = {
    "cooler": UsualRange(
        "its cooling is", 0.0, 3.0, "times the heat of all that is there today", "coolers are sized to it",
        "Is it in BTU/h? Then write so, such as '12000 BTU/h'.",
    ),
    "cooler's draw": UsualRange(
        "its draw is", 0.0, 1.0, "times the heat it takes out", "they move two to four times their draw",
        "Are power and takes_out the wrong way round?",
    ),
    "gap": UsualRange(
        "it is", 0.0, 20.0, "% of its wall", "a door that stands open is about a fifth of one",
        "Is it in cm2, or in mm of height? A slit of 10 mm under a door of 0.9 m is 0.009 m2.",
    ),
    "listener": UsualRange(
        "it stands at", 0.0, 1.0, "times the room's diagonal", "nothing in a room is farther away than that",
        "A listener outside the room stands 'behind' a partition.",
    ),
    "level": UsualRange(
        "at 1 m it comes to", -20.0, 100.0, "dBA", "the loudest servers declare some 80 dBA there",
        "Is it a sound power, or in another unit?",
    ),
    "idle": UsualRange(
        "its idle draw is", 0.0, 2000.0, "W", "one box of a small office draws 10 to 800 W",
        "Is it the draw of a whole rack, or in mW?",
    ),
    "height": UsualRange(
        "its height is", 1.8, 6.0, "m", "rooms of offices are 2.2 to 4 m high",
        "Are the sides in feet? Then write so, such as '10 x 8 x 8 ft'.",
    ),
    "floor": UsualRange(
        "its floor is", 0.5, 400.0, "m2", "server rooms of small offices have 2 to 60 m2",
        "Are the sides in feet or centimetres? Then write so.",
    ),
    "breaker": UsualRange(
        "its breaker is", 2.0, 125.0, "A", "branch circuits of offices carry 6 to 63 A",
        "Is it in mA, or the rating of the whole supply?",
    ),
    "target": UsualRange(
        "its target is", 15.0, 85.0, "dBA", "quiet bedrooms have 20, and over 85 hearing is harmed",
        "Is it a difference, or the level of today?",
    ),
    "cores": UsualRange(
        "its cores are", 0.0, 256.0, "", "two sockets have up to 256", "Are they threads, or MHz?"
    ),
    "memory": UsualRange(
        "its memory is", 0.25, 6144.0, "GiB", "boxes of offices have 2 to 1024 GiB",
        "Is it in MiB, or in TiB?",
    ),
    "price": UsualRange(
        "the price of a kWh is", 0.0, 1.0, "times the most that is usual in the currency",
        "energy costs offices some 0.05 to 0.60 EUR", "Is it in cents? Then write it in whole units.",
    ),
}  # fmt: skip

MOST_A_KWH: Mapping[str, float] = {
    **dict.fromkeys(("EUR", "GBP", "USD", "CHF"), 2.0),
    **dict.fromkeys(("AUD", "CAD", "NZD", "SGD"), 3.0),
    "PLN": 9.0,
    "DKK": 15.0,
    **dict.fromkeys(("SEK", "NOK"), 22.0),
    "CZK": 50.0,
    "INR": 180.0,
    "JPY": 320.0,
    "HUF": 800.0,
}
"""About 2 EUR in each currency; a currency that is not here is not doubted."""

LEAST_COOLER_W = 2600.0
"""The smallest portable cooler that is commonly sold (9,000 BTU/h): no choice of size, so no doubt."""


def find_implausible(model: InventoryModel, site: Site) -> Iterator[Finding]:
    """List the figures outside their usual range."""
    yield from _of_places(model)
    yield from _of_cooling(model, site)
    yield from _of_machines(site)
    for name, circuit in model.supply.circuits.items():
        yield from _doubt("breaker", circuit.breaker_a, ("supply", "circuits", name, "breaker"))
    most = MOST_A_KWH.get(site.currency.upper(), math.inf)
    yield from _doubt("price", site.supply.price_kwh / most, ("supply", "price"))


def _doubt(key: str, figure: float, path: Path) -> Iterator[Finding]:
    usual = RANGES[key]
    if not usual.low <= figure <= usual.high:
        words = f"{usual.what} {rounded(figure)} {usual.unit}".rstrip()
        limit = f"{'more' if figure > usual.high else 'less'} than is usual ({usual.low:g} to {usual.high:g})"
        yield path, f"{words}, {limit}: {usual.reason}.", usual.slip


def _of_places(model: InventoryModel) -> Iterator[Finding]:
    size = model.room.size
    yield from _doubt("height", size.height_m, ("room", "size"))
    yield from _doubt("floor", size.floor_m2, ("room", "size"))
    diagonal_m = math.hypot(size.length_m, size.width_m, size.height_m)
    for name, listener in model.listeners.items():
        path = ("listeners", name)
        if listener.target_dba is not None:
            yield from _doubt("target", listener.target_dba, (*path, "target"))
        if listener.distance_m is not None:
            yield from _doubt("listener", listener.distance_m / diagonal_m, (*path, "distance"))
        elements = listener.behind.elements if listener.behind is not None else {}
        wall_m2 = sum(part.area_m2 or 0.0 for part in elements.values() if part.gap_m2 is None)
        for part_name, part in elements.items():
            if part.gap_m2 is not None and wall_m2:
                share = 100.0 * part.gap_m2 / wall_m2
                yield from _doubt("gap", share, (*path, "behind", "elements", part_name, "gap"))


def _of_cooling(model: InventoryModel, site: Site) -> Iterator[Finding]:
    heat_w = sum(box.spec.peak_w for box in site.boxes)
    heat_w += sum(gear.power_w - gear.leaves_room_w for gear in site.gear)
    for name, option in model.cooling.items():
        if option.takes_out_w and option.takes_out_w > LEAST_COOLER_W and heat_w > 0.0:
            yield from _doubt("cooler", option.takes_out_w / heat_w, ("cooling", name, "takes_out"))
        if option.takes_out_w and option.power_w:
            yield from _doubt(
                "cooler's draw", option.power_w / option.takes_out_w, ("cooling", name, "power")
            )
    for cooling in site.cooling:
        yield from _doubt("level", _at_one_metre_dba(cooling.sound), ("cooling", cooling.name, "sound"))


def _of_machines(site: Site) -> Iterator[Finding]:
    owners = [(("boxes", box.name), box.spec) for box in site.boxes]
    owners += [(("catalogue", kind.name), kind.spec) for kind in site.kinds]
    for path, spec in owners:
        yield from _doubt("idle", spec.idle_w, (*path, "power"))
        yield from _doubt("cores", spec.cores, (*path, "cores"))
        yield from _doubt("memory", spec.memory_gib, (*path, "memory"))
        yield from _doubt("level", _at_one_metre_dba(spec.sound), (*path, "sound"))
    for gear in site.gear:
        yield from _doubt("level", _at_one_metre_dba(gear.sound), ("gear", gear.name, "sound"))


def _at_one_metre_dba(sound: Sound) -> float:
    """Compute the loaded level at 1 m over a floor, in the open."""
    return max(-20.0, a_weighted_total(sound.loaded_db) + distance_transfer_db(1.0, "floor"))
