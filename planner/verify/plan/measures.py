"""Rules about measures and cooling: what may be done, and what goes with what."""

from __future__ import annotations

from collections.abc import Iterator

from planner.domain.measures import ROOM, Measure
from planner.verify.trial import Finding, Trial, listed


def measure_allowed(trial: Trial) -> Iterator[Finding]:
    """A measure taken is one that the person allows."""
    for measure in _taken(trial):
        if not measure.allowed:
            yield measure.name, f"{measure.name} is taken, but is not allowed"


def measure_target(trial: Trial) -> Iterator[Finding]:
    """What a measure is done to is there: a box that is on, gear, cooling that runs, or the room."""
    there = {ROOM, *(gear.name for gear in trial.site.gear), *trial.running}
    there |= {machine.box for machine in trial.state.machines if machine.box is not None}
    for measure in _taken(trial):
        if measure.target not in there:
            yield measure.name, f"{measure.name} is taken on {measure.target}, which is not there or not on"


def measure_requires(trial: Trial) -> Iterator[Finding]:
    """What a measure requires is taken too, or runs."""
    for measure in _taken(trial):
        missing = measure.requires - trial.state.measures - trial.running
        if missing:
            yield measure.name, f"{measure.name} requires {listed(missing)}"


def measure_excludes(trial: Trial) -> Iterator[Finding]:
    """What a measure excludes is not taken, and does not run."""
    for measure in _taken(trial):
        clashing = measure.excludes & (trial.state.measures | trial.running)
        if clashing:
            yield measure.name, f"{measure.name} excludes {listed(clashing)}"


def measure_clash(trial: Trial) -> Iterator[Finding]:
    """A target gets at most one other sound, and what is taken away gets no other measure."""
    for target in sorted({measure.target for measure in _taken(trial)}):
        here = [measure for measure in _taken(trial) if measure.target == target]
        effects = [measure.source_effect for measure in here if measure.source_effect is not None]
        names = listed({measure.name for measure in here})
        if sum(effect.sound is not None for effect in effects) > 1:
            yield target, f"more than one of {names} replaces the sound of {target}"
        if len(here) > 1 and any(effect.takes_out for effect in effects):
            yield target, f"one of {names} takes {target} away, which leaves nothing for the others"


def cooling_requires(trial: Trial) -> Iterator[Finding]:
    """What a cooling option requires runs with it in the same season, or is a measure taken.

    On the way, one that runs without it today may go on so.
    """
    for season, names in sorted(trial.state.cooling.items()):
        for name in sorted(names):
            missing = trial.site.cooling_option[name].requires - trial.state.measures - names
            if trial.moving and name in trial.today.cooling.get(season, ()):
                missing &= trial.today.cooling[season]
            if missing:
                yield name, f"{name} in {season} requires {listed(missing)}"


def cooling_excludes(trial: Trial) -> Iterator[Finding]:
    """What a cooling option excludes does not run with it in the same season, and is not taken.

    On the way, two that run side by side today may go on so.
    """
    for season, names in sorted(trial.state.cooling.items()):
        for name in sorted(names):
            clashing = trial.site.cooling_option[name].excludes & (trial.state.measures | names)
            clashing -= _running_today(trial, season, name)
            if clashing:
                yield name, f"{name} in {season} excludes {listed(clashing)}"


def _running_today(trial: Trial, season: str, name: str) -> frozenset[str]:
    """Look up what runs beside a cooling option today; nothing unless it is a moment on the way."""
    today = trial.today.cooling.get(season, frozenset()) if trial.moving else frozenset()
    return today if name in today else frozenset()


def _taken(trial: Trial) -> list[Measure]:
    return [measure for measure in trial.site.measures if measure.name in trial.state.measures]
