"""What of an earlier state an edited site still has."""

from __future__ import annotations

from dataclasses import replace

from planner.domain.site import Site
from planner.domain.state import State, with_free_names


def still_known(site: Site, state: State) -> State:
    """Copy a state without the services, machines, measures and cooling that the site no longer has.

    A unit whose name something new of the site has taken gets another one.
    """
    machines = tuple(
        replace(item, services=tuple(name for name in item.services if name in site.service))
        for item in state.machines
        if (item.box in site.box if item.box is not None else item.kind in site.kind)
    )
    seasons = {season.name for season in site.seasons}
    cooling = {
        season: frozenset(name for name in running if name in site.cooling_option)
        for season, running in state.cooling.items()
        if season in seasons
    }
    measures = frozenset(name for name in state.measures if name in site.measure)
    return with_free_names(site, State(machines, measures, cooling))
