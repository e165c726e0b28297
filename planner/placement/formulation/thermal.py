"""The heat row of each season: what goes into the room against what the chosen inlet band takes out."""

from __future__ import annotations

import pulp

from planner.domain.air import Cooling, Season
from planner.domain.conflict import Conflict, Place, Rule, Shown
from planner.ledger import climate, draw
from planner.ledger.effects import power_change_w
from planner.placement.formulation.assignment import Model, Terms


def add_climate(model: Model) -> None:
    """Add one heat row a season; capacities depend on the inlet band and the room variant that hold."""
    for season in model.problem.site.seasons:
        terms = [*_heat(model, season), *_room_capacity(model, season)]
        for option in model.problem.site.cooling:
            if season.name in option.removal:
                terms += _option_capacity(model, season, option)
        about = Conflict(Rule.HEAT, (), Place(season.name, season.name), unit="W", shown=Shown.REPAIR)
        model.program.row(f"heat:{season.name}", model.program.total(terms) <= 0, about)


def cooling_rows(model: Model, most_w: float) -> dict[str, pulp.LpConstraint]:
    """Build rows that plans with a mean power of at most ``most_w`` keep, and that fractions do not.

    Such a plan brings only so much heat, so what an option could take out beyond that counts for nothing:
    a large cooler cannot be used by the hundredth part.
    """
    rows = {}
    for season in model.problem.site.seasons:
        room = _room_capacity(model, season)
        heat_w = most_w + _own_heat_w(model, season) + max((watts for _, watts in room), default=0.0)
        terms = [*_heat(model, season), *room]
        for option in model.problem.site.cooling:
            if season.name in option.removal:
                able_w = min(_most_capacity_w(model, season, option), max(0.0, heat_w))
                terms.append((model.run[option.name, season.name], -max(0.0, able_w)))
        rows[f"cooling for the heat there is:{season.name}"] = model.program.total(terms) <= 0
    return rows


def _own_heat_w(model: Model, season: Season) -> float:
    """Compute the heat of all cooling options themselves, were all on."""
    return sum(
        max(
            draw.cooling_w(model.problem.site, option, measures)
            for measures, _ in _run_modes(model, option, season)
        )
        * option.heats_room
        for option in model.problem.site.cooling
        if season.name in option.removal
    )


def _most_capacity_w(model: Model, season: Season, option: Cooling) -> float:
    site = model.problem.site
    bands = model.problem.bands_c(season)
    return max(climate.option_capacity_w(site, season, option, limit_c) for limit_c in bands)


def power_terms(model: Model) -> Terms:
    """Build watts at the wall by variable: machines with their load and gear, without cooling."""
    site = model.problem.site
    terms: Terms = []
    for slot in model.problem.slots:
        wall, span = draw.wall_factor(site, slot.on_ups), slot.spec.peak_w - slot.spec.idle_w
        for mode, variable in model.slot_modes(slot):
            change = power_change_w(site, slot.name, slot.spec.idle_w, mode.measures)
            terms.append((variable, (slot.spec.idle_w + change) * wall))
        terms.append((model.load[slot.key], span * wall))
    for gear in site.gear:
        for mode, variable in model.source_modes(gear.name, gear.name):
            terms.append((variable, draw.gear_w(site, gear, mode.measures)))
    return terms


def _heat(model: Model, season: Season) -> Terms:
    site = model.problem.site
    terms = power_terms(model)
    for gear in site.gear:
        for mode, variable in model.source_modes(gear.name, gear.name):
            leaving = draw.gear_w(site, gear, mode.measures) - draw.gear_heat_w(site, gear, mode.measures)
            terms.append((variable, -leaving))
    for option in site.cooling:
        for measures, variable in _run_modes(model, option, season):
            terms.append((variable, draw.cooling_w(site, option, measures) * option.heats_room))
    return terms


def _run_modes(model: Model, option: Cooling, season: Season) -> list[tuple[frozenset[str], pulp.LpVariable]]:
    if season.name not in option.removal:
        return []
    modes = model.problem.modes(option.name)
    return [(mode.measures, model.run_mode[option.name, season.name, mode.index]) for mode in modes]


def _room_capacity(model: Model, season: Season) -> Terms:
    site, bands = model.problem.site, model.problem.bands_c(season)
    terms: Terms = []
    for index, measures in enumerate(model.problem.variants):
        for band, limit_c in enumerate(bands):
            capacity = climate.room_capacity_w(site, season, measures, limit_c)
            terms.append((model.room[season.name, index, band], -capacity))
    return terms


def _option_capacity(model: Model, season: Season, option: Cooling) -> Terms:
    """Split an option's running over the bands: it counts with the capacity of the band that holds."""
    program, total = model.program, model.program.total
    bands = model.problem.bands_c(season)
    runs = model.run[option.name, season.name]
    site = model.problem.site
    if len(bands) == 1:
        return [(runs, -climate.option_capacity_w(site, season, option, bands[0]))]
    terms: Terms = []
    for band, limit_c in enumerate(bands):
        name = f"run:{option.name}@{season.name} in band {band}"
        share = program.continuous(name)
        holds = [(model.room[season.name, index, band], -1.0) for index in model.variant]
        program.row(name, total([(share, 1.0), *holds]) <= 0)
        terms.append((share, -climate.option_capacity_w(site, season, option, limit_c)))
    shares = total([*((share, 1.0) for share, _ in terms), (runs, -1.0)])
    program.row(f"run:{option.name}@{season.name} in one band", shares == 0)
    return terms
