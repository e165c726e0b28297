"""The level for whoever is in the room: at its listeners, or 1 m from the machines where it has none."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from planner.domain.site import Site
from planner.domain.sound import Listener
from planner.domain.state import State
from planner.ledger.sums import Ledger, ledger

STAND_IN = Listener("1 m from the machines", None)
"""Whoever works in a room without a listener: as near to everything at once, which is on the safe side."""


def with_somebody_inside(site: Site) -> Site:
    """Make the site with a listener in its room: itself where it has one, else with a stand-in alone."""
    if any(item.partition is None for item in site.listeners):
        return site
    return replace(site, listeners=(STAND_IN,))


def levels_inside(room: Site, book: Ledger) -> Mapping[str, float]:
    """Look up the level at each place inside a room, dBA, in its loudest season, whether quiet or not."""
    return {
        item.name: max(entry.levels_dba[item.name] for entry in book.seasons)
        for item in room.listeners
        if item.partition is None
    }


def levels_in_room(site: Site, state: State, book: Ledger) -> Mapping[str, float]:
    """Compute the level at each place in the room of a state whose ledger is ``book``, dBA."""
    room = with_somebody_inside(site)
    return levels_inside(room, book if room is site else ledger(room, state))


def louder(one_dba: Mapping[str, float], other_dba: Mapping[str, float]) -> Mapping[str, float]:
    """Take the louder of two levels at each place."""
    return {name: max(level_dba, other_dba[name]) for name, level_dba in one_dba.items()}
