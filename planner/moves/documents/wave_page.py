"""One wave of the runbook: what is ready before, the steps by the clock, the way back, and what to read."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

from planner.domain import practice
from planner.domain.hazards import hazard_of, text_of
from planner.domain.measures import ROOM
from planner.domain.order import Sort, Task
from planner.domain.resources import INSTALLED, RESOURCES
from planner.domain.site import Site
from planner.domain.state import State
from planner.ledger import draw
from planner.moves.documents.markdown import block, boxes, bullets, plain, table
from planner.moves.tasks.wave import Wave
from planner.moves.tracking.forecast import Expected, expected
from planner.physics.power import START_SHARE

STARTING = frozenset({Sort.BRING_IN, Sort.REUSE, Sort.REPLUG})
SIGNED = "Begun at ______ by ______________ · over at ______ · way back owned by ______________"


def chapter(site: Site, wave: Wave, before: State) -> Iterator[str]:
    """Write the chapter of a wave that begins in a state."""
    yield f"## Wave {wave.number}: {plain(wave.name)}"
    yield ""
    yield _times(site, wave)
    yield ""
    yield SIGNED
    yield ""
    gone = [plain(task.subject) for task in wave.tasks if task.sort is Sort.RETIRE]
    if gone:
        yield from (f"**After this wave there is no way back to {', '.join(gone)}.**", "")
    yield from boxes("Days before", _days_before(site, wave))
    gates = (*wave.go_no_go, *_starts(site, wave, before), *_read_before(wave))
    yield from boxes("Go or no-go", [plain(text) for text in gates])
    yield from bullets("Cautions", [_caution(item) for item in wave.cautions])
    yield from bullets("Strained on the way", [plain(text) for text in wave.breaches])
    yield from block("What is switched", list(_switched(site, wave)))
    yield from block("Steps", list(_steps(site, wave)))
    yield from _way_back(wave)
    yield from block("Read afterwards", list(_to_read(site, wave)))


def when(moment: datetime | None) -> str:
    """Write a day with its time and zone; '' for none."""
    return "" if moment is None else f"{moment:%a %Y-%m-%d %H:%M %Z}"


def _times(site: Site, wave: Wave) -> str:
    price = sum(task.price for task in wave.tasks)
    money = f" It spends {price:,.0f} {plain(site.currency)}." if price else ""
    back = f"; the way back takes {wave.way_back_h:.2g} h more" if wave.way_back_h else ""
    if wave.start is None or wave.end is None:
        return f"**Work {wave.hours:.1f} h{back}.**{money}"
    over = f"{wave.end:%H:%M %Z}" if wave.end.date() == wave.start.date() else when(wave.end)
    return f"**{when(wave.start)} to {over}. Work {wave.hours:.1f} h{back}.**{money}"


def turn_back(wave: Wave) -> datetime | None:
    """Compute the last moment when a wave's way back fits its window; None without dates or a way back."""
    return None if wave.end is None or not wave.way_back_h else _later(wave.end, -wave.way_back_h)


def _later(start: datetime, hours: float) -> datetime:
    """Compute a moment so many hours later, whatever the clock on the wall does meanwhile."""
    return (start.astimezone(UTC) + timedelta(hours=hours)).astimezone(start.tzinfo)


def _caution(words: str) -> str:
    name = hazard_of(words)
    text = plain(text_of(words))
    return f"**{plain(name.replace('-', ' '))}**: {text}" if name else text


def _days_before(site: Site, wave: Wave) -> list[str]:
    """List what is done days before: replicas, name records, restores, samples."""
    names = list(wave.moves)
    if not names:
        return []
    found = [f"load of {name} sampled for 2 to 4 weeks: {_load(site, name)}" for name in wave.moves]
    found += [
        f"{_by(wave, 2)}the replica of {task.subject} on {task.goal} is seeded and follows"
        for task in wave.tasks
        if task.method == "replicate"
    ]
    record = "name record lives" if len(names) == 1 else "name records live"
    found.append(
        f"{_by(wave, 2)}the {record} {practice.TTL_S} s at most, since one old time to live: "
        f"{', '.join(names)}"
    )
    found.append(f"{_by(wave, practice.HOLD_DAYS)}or later: a test restore is readable of {', '.join(names)}")
    return [plain(text) for text in (*found, *_told_to_users(site, wave))]


def _told_to_users(site: Site, wave: Wave) -> Iterator[str]:
    for gone_h, task in _begun(wave):
        if task.down_h:
            about = _clock(site, wave, gone_h)
            start = f" from about {about}" if about else ""
            who = " and of ".join([task.subject, *_hang_on(site, task.subject)])
            yield f"users of {who} know that it is down{start} for {task.down_h * 60.0:.0f} min"


def _hang_on(site: Site, service: str) -> list[str]:
    """Find the services that depend on one, at any remove: they are down with it."""
    found: list[str] = []
    ahead = [service]
    while ahead:
        name = ahead.pop(0)
        more = [s.name for s in site.services if name in s.depends_on and s.name not in {service, *found}]
        found += more
        ahead += more
    return found


def _begun(wave: Wave) -> Iterator[tuple[float, Task]]:
    """List each task with the hours of work that are gone when it begins, one after the other."""
    gone_h = 0.0
    for task in wave.tasks:
        yield gone_h, task
        gone_h += task.hours


def _load(site: Site, service: str) -> str:
    """Say what the plan reckons with, to hold against what was sampled."""
    demand = site.service[service].demand
    most = {name: max(demand.by_hour(name)) for name in INSTALLED}
    return f"not over {', '.join(RESOURCES[name].text(figure) for name, figure in most.items() if figure)}"


def _by(wave: Wave, days: int) -> str:
    if wave.start is None:
        return f"{days} days before, "
    return f"on {wave.start - timedelta(days=days):%a %Y-%m-%d}, "


def _read_before(wave: Wave) -> Iterator[str]:
    if wave.number > 1:
        yield f"what was read after wave {wave.number - 1} lies within its bands, or is explained"


def _starts(site: Site, wave: Wave, before: State) -> Iterator[str]:
    """Say, for each circuit on which something starts, what it carries then and what it bears."""
    there = {machine.name: machine for machine in (*before.machines, *wave.state_after.machines)}
    side_by_side = State(tuple(there.values()), before.measures, before.cooling)
    starting = {task.subject for task in wave.tasks if task.sort in STARTING}
    carried, asked = draw.circuit_loads_w(site, side_by_side), draw.circuit_starts_w(site, side_by_side)
    for circuit in site.supply.circuits:
        if any(there[name].circuit == circuit.name for name in starting if name in there):
            yield (
                f"on {circuit.name} one machine starts after the other: old and new draw up to "
                f"{carried[circuit.name]:.0f} W ({circuit.continuous_w:.0f} W are allowed for hours), while "
                f"one starts {asked[circuit.name]:.0f} W (assumed: a start takes {START_SHARE:g} times the "
                f"peak); the breaker bears {circuit.breaker_w:.0f} W"
            )


def _switched(site: Site, wave: Wave) -> Iterator[str]:
    rows = [row for task in wave.tasks for row in _switch(site, wave, task)]
    if rows:
        yield from table(
            ["What", "Where", "Before", "After"], [[plain(text) for text in row] for row in rows]
        )


def _switch(site: Site, wave: Wave, task: Task) -> Iterator[tuple[str, str, str, str]]:
    circuits = {machine.name: machine.circuit for machine in wave.state_after.machines}
    circuits |= {option.name: option.circuit for option in site.cooling}
    circuit = circuits.get(task.subject) or (
        site.box[task.subject].circuit if task.subject in site.box else ""
    )
    states = {
        Sort.BRING_IN: ("not there", "on, soaking"),
        Sort.REUSE: ("as it was", "on, set up anew"),
        Sort.HOLD: ("on", "OFF, left in place"),
        Sort.RETIRE: ("off", "taken out"),
        Sort.COOLING_ON: ("off", "ON"),
        Sort.COOLING_OFF: ("on", "OFF"),
    }
    if task.sort is Sort.MOVE:
        yield task.subject, "service", task.origin, task.goal
    elif task.sort is Sort.REPLUG:
        yield task.subject, "plug", site.box[task.subject].circuit, circuit
    elif task.sort is Sort.MEASURE:
        target = site.measure[task.subject].target
        yield task.subject, "in the room" if target == ROOM else target, "", "applied"
    elif task.sort in states:
        yield task.subject, circuit, *states[task.sort]


def _steps(site: Site, wave: Wave) -> Iterator[str]:
    """Write the steps with the time at which each begins, and what must hold once it is done."""
    for gone_h, task in _begun(wave):
        clock = _clock(site, wave, gone_h)
        down = f"; down {task.down_h * 60.0:.0f} min{_bears(site, task)}" if task.down_h else ""
        start = f"**{clock}** " if clock else ""
        yield f"- [ ] {start}{plain(task.text)} ({task.hours:.2g} h{down})"
        yield from (f"    - [ ] {plain(text)}" for text in task.done_when)


def _bears(site: Site, task: Task) -> str:
    service = site.service.get(task.subject)
    limit_min = None if service is None else service.downtime_min
    return "" if limit_min is None else f", may be {limit_min:.0f}"


def _clock(site: Site, wave: Wave, gone_h: float) -> str:
    """Write when a step begins: nobody knows where several work side by side."""
    if site.windows.crew > 1:
        return ""
    if wave.start is not None:
        return f"{_later(wave.start, round(gone_h * 60.0) / 60.0):%H:%M}"
    minutes = round(gone_h * 60.0)
    return f"+{minutes // 60}:{minutes % 60:02d}"


def _way_back(wave: Wave) -> Iterator[str]:
    lines = []
    last = turn_back(wave)
    if last is not None:
        lines += [f"**Turn back at {last:%H:%M} at the latest**: it takes {wave.way_back_h:.2g} h.", ""]
    elif wave.way_back_h:
        lines += [f"**Keep {wave.way_back_h:.2g} h of the window for it.**", ""]
    undone = (task for task in reversed(wave.tasks) if task.rollback and task.sort is not Sort.RETIRE)
    lines += [f"- [ ] {plain(task.rollback)}" for task in undone]
    kept = dict.fromkeys(task.origin for task in wave.tasks if task.origin and task.origin != task.goal)
    if kept:
        lines += ["", _deadline(wave, [plain(name) for name in kept])]
    yield from block("Way back, in this order", lines)


def _deadline(wave: Wave, boxes_kept: list[str]) -> str:
    what = f"{', '.join(boxes_kept)} intact and in place, so that the wave can be taken back"
    if wave.rollback_deadline is None:
        return f"For {wave.rollback_days} days after this wave keep {what}."
    return f"**Until {when(wave.rollback_deadline)}** keep {what}."


def _to_read(site: Site, wave: Wave) -> Iterator[str]:
    seasons = [season.name for season in site.seasons]
    by_thing: dict[str, dict[str, Expected]] = {}
    for item in expected(site, wave.state_after):
        by_thing.setdefault(item.what, {})[item.season] = item
    rows = []
    for what, found in by_thing.items():
        unit = next(iter(found.values())).unit
        foretold = [_foretold(found[season]) for season in seasons]
        leading = f", led by {plain(wave.ledger.leading[what]) or 'nothing'}" if unit == "dBA" else ""
        rows.append([f"{plain(what)}{leading}", *foretold, f"______ {unit}"])
    yield from table(["What", *(f"In {plain(name)} (band)" for name in seasons), "Read"], rows)
    yield ""
    names = [item.name for item in site.listeners]
    levels = " ".join(f"--dba {name}=…" for name in names) if len(names) > 1 else "--dba …"
    yield (
        f"{wave.rack_u} rack units are taken. What a difference means is said by `stillroom moves … --done "
        f"{wave.number} --reading {wave.number} {levels.replace('`', '')} --watts … --celsius …`."
    )


def _foretold(item: Expected) -> str:
    return f"{item.foretold:.0f} {item.unit} ({item.low:.0f} to {item.high:.0f})"
