"""Usual sound of classes of equipment, for sources nobody has measured.

Ranges are A-weighted sound power in dB, low and high, idle and loaded. Most are from memory, some agree
with declared figures: an assumption in every case, marked as such wherever it is used.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

LEAST_PLUS_MINUS_DB = 3.0
FANLESS_DB = 15.0
"""Floor for a source without moving parts: coils still sing, and no source is minus infinity."""


@dataclass(frozen=True)
class EquipmentClass:
    """A class: ranges of sound power in dB, the shape of its octaves, and whether it is a server."""

    idle_db: tuple[float, float]
    loaded_db: tuple[float, float]
    shape: str
    server: bool = False

    @property
    def idle_middle_db(self) -> float:
        """Middle of the idle range."""
        return sum(self.idle_db) / 2.0

    @property
    def loaded_middle_db(self) -> float:
        """Middle of the loaded range."""
        return sum(self.loaded_db) / 2.0

    @property
    def plus_minus_db(self) -> float:
        """Half the wider range, at least 3 dB."""
        widths = (high - low for low, high in (self.idle_db, self.loaded_db))
        return max(LEAST_PLUS_MINUS_DB, max(widths) / 2.0)


_SMALL, _MEDIUM, _LARGE, _FLAT = "small-fast-fan", "medium-fan", "large-slow-fan", "flat"
_SILENT = (FANLESS_DB, FANLESS_DB)

CLASSES: Mapping[str, EquipmentClass] = {
    "rack_1u_40mm_fans": EquipmentClass((50.0, 62.0), (60.0, 80.0), _SMALL, True),
    "rack_2u": EquipmentClass((48.0, 60.0), (56.0, 72.0), _MEDIUM, True),
    "rack_4s_heavy": EquipmentClass((62.0, 68.0), (75.0, 91.0), _MEDIUM, True),
    "blade_small": EquipmentClass((63.0, 66.0), (66.0, 68.0), _MEDIUM, True),
    "tower_server": EquipmentClass((32.0, 45.0), (40.0, 55.0), _MEDIUM, True),
    "tower_large_quiet": EquipmentClass((25.0, 35.0), (30.0, 42.0), _LARGE, True),
    "appliance_fanless": EquipmentClass(_SILENT, _SILENT, _FLAT),
    "appliance_lownoise": EquipmentClass((25.0, 35.0), (30.0, 42.0), _MEDIUM),
    "nas_4disk": EquipmentClass((36.0, 42.0), (40.0, 48.0), _MEDIUM),
    "switch_24_fan": EquipmentClass((40.0, 52.0), (45.0, 58.0), _SMALL),
    "switch_48_poe_fan": EquipmentClass((45.0, 58.0), (52.0, 68.0), _SMALL),
    "switch_fanless": EquipmentClass(_SILENT, _SILENT, _FLAT),
    "firewall_1u": EquipmentClass((45.0, 55.0), (50.0, 62.0), _SMALL),
    "firewall_fanless": EquipmentClass(_SILENT, _SILENT, _FLAT),
    "ups_lineint": EquipmentClass((35.0, 48.0), (45.0, 58.0), _MEDIUM),
    "ups_online": EquipmentClass((48.0, 58.0), (55.0, 65.0), _MEDIUM),
    "ac_portable": EquipmentClass((60.0, 65.0), (62.0, 70.0), _LARGE),
    "ac_split_indoor": EquipmentClass((38.0, 50.0), (50.0, 60.0), _LARGE),
    "ac_window": EquipmentClass((55.0, 62.0), (58.0, 68.0), _LARGE),
    "hvac_diffuser": EquipmentClass((25.0, 40.0), (30.0, 45.0), _LARGE),
}

SORTS: Mapping[str, str] = {
    "switch": "switch_24_fan",
    "poe-switch": "switch_48_poe_fan",
    "fanless-switch": "switch_fanless",
    "firewall": "firewall_1u",
    "fanless-firewall": "firewall_fanless",
    "router": "firewall_fanless",
    "ups": "ups_lineint",
    "online-ups": "ups_online",
    "recorder": "nas_4disk",
    "nas": "nas_4disk",
    "fanless": "appliance_fanless",
}
"""Class taken for a sort of gear that says nothing about its sound."""


def class_of_box(rack_u: int) -> str:
    """Write the class taken for a box that says nothing about its sound, by its height in the rack."""
    if rack_u == 0:
        return "tower_server"
    return "rack_1u_40mm_fans" if rack_u == 1 else "rack_2u"


def class_of_kind(role: str, rack_u: int) -> str:
    """Write the class taken for a kind that says nothing about its sound."""
    by_role = {"appliance": "appliance_lownoise", "tower": "tower_large_quiet"}
    return by_role.get(role) or class_of_box(rack_u)
