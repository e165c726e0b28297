"""One heat of the race: Stillroom with ten seconds and with all, then every peer, on one problem."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from planner.domain.site import Site
from tests.benchmarks.peers.child import Job
from tests.benchmarks.peers.runner import STILLROOM, Run, calm, run
from tests.benchmarks.peers.task import Task
from tests.benchmarks.peers.tasks import task_of_site

SOON_S = 10.0
"""Seconds of the shorter run, whose answer the peers are timed against."""


@dataclass(frozen=True)
class Entry:
    """A problem: as a site, and as a task where it does not depend on Stillroom's cooling."""

    set: str
    name: str
    site: Site
    seconds: float
    task: Task | None = None
    known: float | None = None
    optimal: bool = False

    @property
    def items(self) -> int:
        """How many services it has."""
        return len(self.site.services)


@dataclass
class Heat:
    """A problem and how every side did; ``soon`` is Stillroom's shorter run."""

    entry: Entry
    load: float
    soon: Run
    full: Run
    peers: list[Run] = field(default_factory=list)


def race(entry: Entry, peers: Sequence[str], cores: int, seed: int) -> Heat:
    """Run one heat."""
    load = calm()
    soon = run(STILLROOM, Job(None, entry.site, min(SOON_S, entry.seconds), cores, seed))
    full = soon
    if entry.seconds > SOON_S and not soon.proven:
        full = run(STILLROOM, Job(None, entry.site, entry.seconds, cores, seed))
    heat = Heat(entry, load, soon, full)
    task = entry.task or _cooled(entry.site, full if math.isfinite(full.objective) else soon)
    for ours in {id(soon): soon, id(full): full}.values():
        _judge(ours, task, shift=0 if entry.task is None else 1)
    for side in peers:
        if task is None:
            heat.peers.append(Run(side, skipped="Stillroom has no plan whose cooling could be given"))
            continue
        easier = () if entry.task is not None else tuple(_options(entry.site, full))
        done = run(side, Job(task, None, entry.seconds, cores, seed, easier))
        _judge(done, task)
        heat.peers.append(done)
    return heat


def _judge(done: Run, task: Task | None, shift: int = 0) -> None:
    """Add a side's filling up by the judge all share; what it refuses counts as no answer."""
    filling = done.facts.pop("filling", None)
    if filling is None or task is None:
        return
    worth = task.worth([(make - shift, tuple(items)) for make, items in filling])
    if math.isinf(worth):
        done.note, done.objective, done.proven, done.course = "its answer breaks a rule", math.inf, False, []
    elif abs(worth - done.objective) > 1e-2 + 1e-5 * abs(worth) and worth > done.objective:
        done.note = f"it said {done.objective:.6g}"
        done.objective, done.proven = worth, False
        done.course = [(when, max(value, worth)) for when, value in done.course]


def _cooled(site: Site, ours: Run) -> Task | None:
    """Make a site's task with the cooling of Stillroom's answer."""
    cooling = ours.facts.get("cooling")
    if cooling is None:
        return None
    return task_of_site(site, _sets(cooling), _over_db(ours))


def _options(site: Site, ours: Run) -> list[Task]:
    """List a site's task with each cooling option by itself, all year."""
    if "cooling" not in ours.facts:
        return []
    able = [option for option in site.cooling if all(s.name in option.removal for s in site.seasons)]
    return [
        task_of_site(site, {season.name: frozenset({option.name}) for season in site.seasons}, _over_db(ours))
        for option in able
    ]


def _sets(cooling: Mapping[str, Sequence[str]]) -> dict[str, frozenset[str]]:
    return {season: frozenset(names) for season, names in cooling.items()}


def _over_db(ours: Run) -> float:
    return float(ours.facts.get("earlier", {}).get("sound", 0.0))
