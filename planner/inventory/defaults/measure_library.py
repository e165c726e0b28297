"""Usual quieting measures with what they do, cost, take and endanger, for who has no figures of their own.

All figures are common practice or from memory, and marked as assumed wherever they are used; prices are in
the site's currency. Effects of fans follow the fan laws (50 lg of the speed ratio) less what motors, disks
and the flow itself leave; only a trial with temperatures logged tells.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class UsualMeasure:
    """A measure as an inventory would write it; ``part`` is what it does to a part of a partition."""

    about: str
    keys: Mapping[str, Any] = field(default_factory=dict)
    part: Mapping[str, Any] | None = None

    def written(self, part: object) -> dict[str, Any] | None:
        """Collect its keys for an inventory; None when it acts on a part and none is named."""
        if self.part is None:
            return dict(self.keys)
        return None if part is None else {**self.keys, "elements": {part: dict(self.part)}}


def _usual(about: str, part: Mapping[str, Any] | None = None, **keys: Any) -> UsualMeasure:
    return UsualMeasure(about, keys, part)


FAN, LIFT, DOOR = ["fan-swap"], ["lifting"], ["fire-rated", "egress"]

LIBRARY: Mapping[str, UsualMeasure] = {
    # 0.72 of the speed: 50 lg 0.72 = -7.1 dB, and 0.72 of the air
    "fan-swap-1u": _usual("slower 40 mm fans", quieter="7 dB", price=45, hours=1.5, cautions=FAN),
    "fan-swap-2u": _usual("slower 80 mm fans", quieter="6 dB", price=60, hours=1.5, cautions=FAN),
    # 12 V to 9 V with 1 V of electronics: 50 lg (8/11) = -6.9 dB; a dB is kept back for what the fan is not
    "fan-undervolt": _usual("fans on 9 V", quieter="6 dB", price=10, hours=1, cautions=FAN),
    "fan-swap-switch": _usual("quieter fans in a switch", quieter="8 dB", price=28, hours=1, cautions=FAN),
    "fan-swap-tower": _usual("one slow 140 mm fan", quieter="5 dB", price=25, hours=1, cautions=FAN),
    # six fans of 40 mm by two of 120 mm at the same flow; motors and disks leave a floor
    "fans-few-large": _usual("few large fans", quieter="12 dB", price=80, hours=4, cautions=FAN),
    "fan-curve": _usual("a slower fan curve in the firmware", quieter="3 dB", price=0, hours=1, cautions=FAN),
    "clean-dust": _usual("dust out, fans slow down", quieter="2 dB", price=5, hours=0.5),
    "rubber-feet": _usual("soft feet and washers", quieter="2 dB", price=12, hours=0.5),
    "fanless-switch": _usual("a switch without fans", sound={"class": "switch_fanless"}, price=210, hours=2),
    "fanless-firewall": _usual(
        "a firewall without fans", sound={"class": "firewall_fanless"}, price=320, hours=3
    ),
    "solid-state-disks": _usual(
        "no spinning disks", quieter="4 dB", power="-12 W", price=260, hours=3, cautions=["data-loss"]
    ),
    # declared 7.9 B with plain and 7.5 B with acoustic rack doors
    "rack-doors": _usual("acoustic rack doors", quieter="4 dB", price=600, hours=3, cautions=["disk-heat"]),
    "quiet-cabinet": _usual(
        "an acoustic cabinet with its own fans",
        quieter="13 dB",
        power="15 W",
        price=950,
        hours=5,
        cautions=[*LIFT, "disk-heat"],
    ),
    "ups-elsewhere": _usual(
        "the UPS in another room", elsewhere=True, price=140, hours=4, cautions=["mains-ups", *LIFT]
    ),
    "cold-spare": _usual("a spare that is switched off", removes=True, price=0, hours=1),
    "cooler-lagging": _usual(
        "lagged hose and soft feet", quieter="2 dB", price=35, hours=1, cautions=["hvac"]
    ),
    "cooler-low-fan": _usual("the cooler's low fan step", quieter="4 dB", price=0, hours=0.5),
    "door-seal": _usual(
        "seals round the door and a drop seal",
        {"loss": "26 dB"},
        leak="-20 m3/h",
        price=55,
        hours=2,
        cautions=["fire-rated", "sealed-room", "privacy"],
    ),
    "solid-door": _usual("a solid door", {"material": "door-solid-wood"}, price=420, hours=6, cautions=DOOR),
    "hole-stopped": _usual(
        "a cable hole stopped", {"loss": "35 dB"}, price=22, hours=1, cautions=["fire-rated"]
    ),
    "second-glazing": _usual(
        "a heavier pane", {"material": "glass-laminated-12mm"}, price=380, hours=4, cautions=["lifting"]
    ),
    "absorber-5m2": _usual(
        "5 m² of mineral wool panels",
        adds={"panels": {"material": "rockwool-50mm-80kg", "area": "5 m2"}},
        price=190,
        hours=4,
        cautions=["absorber-fire"],
    ),
    "ceiling-tiles-10m2": _usual(
        "10 m² of acoustic ceiling tiles",
        adds={"tiles": {"material": "ceiling-tile-fissured", "area": "10 m2"}},
        price=320,
        hours=8,
        cautions=["absorber-fire", "asbestos"],
    ),
}
"""Name to measure. The target stays the inventory's to name."""
