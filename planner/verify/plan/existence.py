"""Everything a state names must exist; nothing else can be judged before that holds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from planner.domain.measures import ROOM
from planner.verify.trial import Finding, Trial, listed


def machine_known(trial: Trial) -> Iterator[Finding]:
    """A machine is a box of the site or a unit of a kind of the catalogue, not both and not neither."""
    for machine in trial.state.machines:
        if (machine.box is None) == (machine.kind is None):
            yield machine.name, f"{machine.name} must be either a box or a unit of a kind"
        elif machine.box is not None and machine.box not in trial.site.box:
            yield machine.name, f"{machine.name}: the site has no box {machine.box}"
        elif machine.kind is not None and machine.kind not in trial.site.kind:
            yield machine.name, f"{machine.name}: the catalogue has no kind {machine.kind}"


def machine_name(trial: Trial) -> Iterator[Finding]:
    """A machine's name is its own: no two share one, a box keeps its name, a unit takes nobody else's."""
    site = trial.site
    taken = {*site.box, *site.cooling_option, *(gear.name for gear in site.gear), ROOM}
    for name, count in Counter(machine.name for machine in trial.state.machines).items():
        if count > 1:
            yield name, f"{count} machines are called {name}"
    for machine in trial.state.machines:
        if machine.box is not None and machine.name != machine.box:
            yield machine.name, f"box {machine.box} is called {machine.name}"
        if machine.box is None and machine.name in taken:
            yield machine.name, f"a unit of {machine.kind} has the name of another thing, {machine.name}"


def circuit_known(trial: Trial) -> Iterator[Finding]:
    """A machine hangs on a circuit that is there."""
    for machine in trial.state.machines:
        if machine.circuit not in trial.site.circuit:
            yield machine.name, f"{machine.name} hangs on circuit {machine.circuit}, which is not there"


def service_known(trial: Trial) -> Iterator[Finding]:
    """A machine carries only services of the site."""
    for machine in trial.state.machines:
        unknown = set(machine.services) - set(trial.site.service)
        if unknown:
            yield machine.name, f"{machine.name} carries what is no service of the site: {listed(unknown)}"


def measure_known(trial: Trial) -> Iterator[Finding]:
    """A measure taken is one of the site's."""
    for name in sorted(trial.state.measures - set(trial.site.measure)):
        yield name, f"the site has no measure {name}"


def cooling_known(trial: Trial) -> Iterator[Finding]:
    """Cooling that runs is an option of the site, in a season of the site."""
    seasons = {season.name for season in trial.site.seasons}
    for season, names in sorted(trial.state.cooling.items()):
        if season not in seasons:
            yield season, f"the site has no season {season}"
        for name in sorted(names - set(trial.site.cooling_option)):
            yield name, f"the site has no cooling option {name}"


def cooling_season(trial: Trial) -> Iterator[Finding]:
    """A cooling option runs only in seasons it can run in."""
    for season, names in sorted(trial.state.cooling.items()):
        for option in trial.site.cooling:
            if option.name in names and season not in option.removal:
                possible = listed(set(option.removal)) or "no season"
                yield option.name, f"{option.name} runs in {season}; it can run in {possible}"
