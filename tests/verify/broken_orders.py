"""Orders broken in one rule of the walk each, made from one good order."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta

from planner.domain.machines import Circuit, Role
from planner.domain.order import Cycle, Sort, Task, WrittenOrder, WrittenWave, figures_of, task_id
from planner.domain.rules import Apart, Recurring, Windows
from planner.domain.site import Site
from planner.domain.state import State
from planner.ledger import ledger
from planner.verify import Walked
from tests.verify.clinic import SITE, box, folded, unit, with_service

SATURDAY = datetime(2027, 3, 6, 8, 0, tzinfo=UTC)
HOURS = {Sort.PREPARE: 4.0, Sort.MOVE: 1.6}


@dataclass(frozen=True)
class BrokenOrder:
    """An order that breaks one rule; ``says`` is a part of the sentence; ``alone``: and no other rule."""

    rule: Walked
    says: str
    site: Site
    target: State
    order: WrittenOrder
    alone: bool = True


def task(sort: Sort, subject: str, **more: object) -> Task:
    """Make a task; moves take 1.6 h, setting up 4 h, the rest an hour or less."""
    bare = Task(task_id(sort, subject), sort, subject, HOURS.get(sort, 0.5), f"{sort} {subject}")
    return replace(bare, **more)  # type: ignore[arg-type]


def moving(*services: str) -> list[Task]:
    """List the tasks that move some services."""
    return [task(sort, name) for name in services for sort in (Sort.BACK_UP, Sort.MOVE)]


def wave(number: int, week: int, *tasks: Task) -> WrittenWave:
    """Make a wave on a Saturday from 08:00 to 14:00, which is a window where none are given."""
    start = SATURDAY + timedelta(weeks=week)
    return WrittenWave(number, tasks, start, start + timedelta(hours=6))


IN = (task(Sort.BRING_IN, "quiet-host-1"), task(Sort.PREPARE, "quiet-host-1"))
FIRST = wave(1, 0, *IN)
SECOND = wave(2, 1, *moving("records-db", "mail"), task(Sort.HOLD, "alder"))
THIRD = wave(3, 2, *moving("files"), task(Sort.HOLD, "birch"))
LAST = wave(
    4, 4, task(Sort.COOLING_OFF, "split-unit"), task(Sort.RETIRE, "alder"), task(Sort.RETIRE, "birch")
)
GOOD = WrittenOrder((FIRST, SECOND, THIRD, LAST))
TARGET = folded()


def order(*waves: WrittenWave) -> WrittenOrder:
    """Make the good order with some waves in place of its own, by number."""
    there = {item.number: item for item in (*GOOD.waves, *waves)}
    return replace(GOOD, waves=tuple(there[number] for number in sorted(there)))


def without(item: WrittenWave, *names: str) -> WrittenWave:
    """Make a wave without some tasks."""
    return replace(item, tasks=tuple(each for each in item.tasks if each.id not in names))


def with_tasks(item: WrittenWave, **changes: object) -> WrittenWave:
    """Make a wave with its last move changed."""
    last = [each for each in item.tasks if each.sort is Sort.MOVE][-1]
    changed = replace(last, **changes)  # type: ignore[arg-type]
    return replace(item, tasks=tuple(changed if each is last else each for each in item.tasks))


def _broken(rule: Walked, says: str, found: WrittenOrder, site: Site = SITE, **more: bool) -> BrokenOrder:
    return BrokenOrder(rule, says, site, TARGET, found, **more)


def on_paper() -> Iterator[BrokenOrder]:
    """List orders that name what is not there, leave out or do twice, or say what is not so."""
    strange = replace(FIRST, tasks=(*IN, task(Sort.MEASURE, "golden-fans")))
    yield _broken(Walked.KNOWN, "the plan has no golden-fans", order(strange))
    twice = replace(SECOND, tasks=(task(Sort.BACK_UP, "mail"), *SECOND.tasks))
    yield _broken(Walked.ONCE, "'back up: mail' is done 2 times", order(twice))
    yield _broken(Walked.LEFT, "birch is switched off for 7 days", order(without(LAST, "retire: birch")))
    still = order(without(LAST, "cooling off: split-unit"))
    yield _broken(Walked.TARGET, "does not end in the plan's state", still)
    figures = figures_of(ledger(SITE, TARGET), 2)
    said = order(replace(LAST, figures=replace(figures, power_w=figures.power_w - 1.0)))
    yield _broken(Walked.FIGURES, "after wave 4 the draw in W is said to be", said)
    louder = replace(figures, levels_dba={**figures.levels_dba, "desk": 30.0})
    yield _broken(Walked.FIGURES, "the level at desk in dBA", order(replace(LAST, figures=louder)))


def in_time() -> Iterator[BrokenOrder]:
    """List orders with waves outside the windows, too long, or with services down for too long."""
    before = replace(FIRST, end=SATURDAY - timedelta(hours=1))
    yield _broken(Walked.TIME, "wave 1 ends before it starts", order(before))
    same = replace(THIRD, start=SECOND.start, end=SECOND.end)
    yield _broken(Walked.TIME, "wave 3 starts before wave 2 is over", order(same))
    tuesday = replace(FIRST, start=SATURDAY - timedelta(days=4), end=SATURDAY - timedelta(days=4, hours=-6))
    yield _broken(Walked.WINDOW, "Tue 2027-03-02 08:00, lies in no maintenance window", order(tuesday))
    closed = replace(SITE, windows=Windows(blackouts=(date(2027, 3, 13),)))
    yield _broken(Walked.WINDOW, "wave 2, Sat 2027-03-13", GOOD, closed)
    nightly = replace(SITE, windows=Windows("UTC", (Recurring(4, time(20), 24.0),), (date(2027, 3, 6),)))
    night = [
        replace(item, start=item.start - timedelta(hours=12), end=item.end - timedelta(hours=12))
        for item in GOOD.waves
        if item.start is not None and item.end is not None
    ]
    words = "wave 1 runs into 2027-03-06, a day without any window"
    yield _broken(Walked.WINDOW, words, order(*night), nightly)
    long = order(with_tasks(SECOND, hours=4.0))
    yield _broken(Walked.WORK, "wave 2 takes 7.1 h with its way back, there are 6.0 h", long)
    crew = replace(SITE, windows=Windows(crew=2))
    long = order(with_tasks(SECOND, hours=6.5))
    yield _broken(Walked.WORK, "'move: mail' takes 6.5 h", long, crew)
    # the host costs 1500 and is bought in March, the panels cost 250 a week later
    poor = replace(SITE, policy=replace(SITE.policy, monthly_budget=1600.0))
    panels = order(replace(SECOND, tasks=(*SECOND.tasks, task(Sort.MEASURE, "wall-panels"))))
    state = replace(TARGET, measures=frozenset({"wall-panels"}))
    words = "in 2027-03 1750 EUR are spent, a month has 1600"
    yield BrokenOrder(Walked.MONEY, words, poor, state, panels)
    # 100 GB at 112 MB/s take 14.9 min, turning back another 15 min
    site = with_service("mail", downtime_min=20.0)
    yield _broken(Walked.DOWNTIME, "mail is down for 29.9 min, it bears 20 min", GOOD, site)
    said = order(with_tasks(SECOND, down_h=2.0))
    yield _broken(
        Walked.DOWNTIME, "mail is down for 119.7 min", said, with_service("mail", downtime_min=90.0)
    )
    other = order(with_tasks(SECOND, method="replicate"))
    yield _broken(Walked.METHOD, "mail is moved by replicate; the inventory says convert", other)


def in_company() -> Iterator[BrokenOrder]:
    """List orders that move together what never goes together, or before what it needs."""
    one = with_service("mail", roles=frozenset({"directory"}))
    both = replace(one, services=tuple(replace(s, roles=frozenset({"dns"})) for s in one.services[:2]))
    both = replace(both, services=(*both.services, one.services[2]))
    yield _broken(Walked.DIRECTORY, "records-db and mail, both directory servers", GOOD, both)
    yield _broken(Walked.DIRECTORY, "less than a day after records-db", _hours_apart(), _daily(both))
    vault = with_service("mail", roles=frozenset({"backup"}))
    yield _broken(Walked.BACKUP_COMPANY, "records-db and mail, one the other's backup", GOOD, vault)
    store = with_service("records-db", roles=frozenset({"storage"}))
    store = replace(
        store,
        services=(
            store.services[0],
            replace(store.services[1], depends_on=("records-db",)),
            *store.services[2:],
        ),
    )
    yield _broken(Walked.ROOT, "mail moves less than a day after records-db", GOOD, store)
    needs = with_service("mail", depends_on=("files",))
    yield _broken(Walked.PROVIDER, "mail moves before files, which it depends on", GOOD, needs)
    ring = replace(GOOD, cycles=(Cycle(("files", "mail")),))
    yield _broken(Walked.RING, "files is said to be in a ring with files, mail", ring)
    given_up = replace(GOOD, given_up=(("mail", "files"),))
    yield _broken(Walked.RING, "mail is said to depend on files, which is given up", given_up)
    yield _pair()


def _daily(site: Site) -> Site:
    """Make a site with two windows on each day."""
    times = [
        Recurring(day, hour, 4.0)
        for day in range(7)
        for hour in (SATURDAY.time(), (SATURDAY + timedelta(hours=8)).time())
    ]
    return replace(site, windows=Windows(recurring=tuple(times)))


def _hours_apart() -> WrittenOrder:
    """Move records-db in the morning and mail in the afternoon of the same day."""
    morning = WrittenWave(
        2, tuple(moving("records-db")), SATURDAY + timedelta(days=7), SATURDAY + timedelta(days=7, hours=4)
    )
    later = SATURDAY + timedelta(days=7, hours=8)
    noon = WrittenWave(3, (*moving("mail"), task(Sort.HOLD, "alder")), later, later + timedelta(hours=4))
    parts = [replace(FIRST, tasks=(IN[0], replace(IN[1], hours=3.0)), end=SATURDAY + timedelta(hours=4))]
    end = THIRD.end - timedelta(hours=2) if THIRD.end else None
    last_end = LAST.end - timedelta(hours=2) if LAST.end else None
    parts += [morning, noon, replace(THIRD, number=4, end=end), replace(LAST, number=5, end=last_end)]
    return WrittenOrder(tuple(parts))


def _pair() -> BrokenOrder:
    """Two halves of a pair, each for a host of its own, in one wave."""
    role = frozenset({"database"})
    services = (
        replace(SITE.services[0], roles=role),
        replace(SITE.services[1], roles=role),
        SITE.services[2],
    )
    site = replace(SITE, services=services, apart=(Apart(frozenset({"records-db", "mail"}), "a pair"),))
    target = folded(unit("quiet-host", 1, "records-db", "files"), unit("quiet-host", 2, "mail"))
    more = (task(Sort.BRING_IN, "quiet-host-2"), task(Sort.PREPARE, "quiet-host-2", hours=0.5))
    first = replace(FIRST, tasks=(*IN, *more))
    return BrokenOrder(Walked.PAIR, "two halves of a pair: a pair", site, target, order(first))


def out_of_turn() -> Iterator[BrokenOrder]:
    """List orders that do a task before what it needs, or after what it can be undone by is gone."""
    yield _broken(Walked.PREPARE, "is prepared before it is there", order(replace(FIRST, tasks=IN[::-1])))
    unsoaked = order(without(FIRST, "prepare: quiet-host-1"))
    yield _broken(Walked.SOAK, "before that is set up and has soaked for a day", unsoaked)
    yield _broken(
        Walked.BACK_UP, "mail moves before it is backed up", order(without(SECOND, "back up: mail"))
    )
    early = replace(FIRST, tasks=(task(Sort.BACK_UP, "files"), *IN))
    old = order(early, without(THIRD, "back up: files"))
    yield _broken(Walked.BACK_UP, "files moves in wave 3, its backup is older than 7 days", old)
    nowhere = order(replace(FIRST, tasks=()))
    yield _broken(Walked.MOVE, "mail moves to quiet-host-1, which is not on", nowhere, alone=False)
    yield _broken(Walked.GOAL, "mail moves to disk-tower-1", order(with_tasks(SECOND, goal="disk-tower-1")))
    left = order(without(SECOND, "move: mail"))
    yield _broken(Walked.HOLD, "alder is switched off with mail on it", left, alone=False)
    on = order(without(SECOND, "hold: alder"))
    yield _broken(Walked.RETIRE, "alder is taken out, but is not held switched off", on, alone=False)
    soon = replace(LAST, start=SATURDAY + timedelta(weeks=3), end=SATURDAY + timedelta(weeks=3, hours=6))
    yield _broken(Walked.WAY_BACK, "birch is taken out in wave 4, before its rollback deadline", order(soon))
    yield from _rebuilt()
    yield _plugged()


def _rebuilt() -> Iterator[BrokenOrder]:
    """Rebuild alder as a host: with mail on it, and while what left it may have to go back."""
    alder = box("alder", Role.HOST, "files")
    target = folded(unit("quiet-host", 1, "records-db", "mail"), alder)
    rebuilt = task(Sort.REUSE, "alder")
    end = wave(4, 4, task(Sort.COOLING_OFF, "split-unit"), task(Sort.RETIRE, "birch"))
    second = replace(SECOND, tasks=(*moving("records-db", "mail"), rebuilt))
    said = "alder is rebuilt in wave 2, but mail may have to go back to it"
    yield BrokenOrder(Walked.WAY_BACK, said, SITE, target, order(second, THIRD, end), alone=False)
    second = replace(SECOND, tasks=(*moving("records-db"), task(Sort.BACK_UP, "mail"), rebuilt))
    found = order(second, replace(THIRD, tasks=(*moving("files"), task(Sort.HOLD, "birch"))), end)
    yield BrokenOrder(
        Walked.REBUILD, "alder is rebuilt while mail is on it", SITE, target, found, alone=False
    )
    yield from _rebuilt_in_place()


def _rebuilt_in_place() -> Iterator[BrokenOrder]:
    """Rebuild alder under mail: with mail set up again only a week later, and with it set up before."""
    target = folded(unit("quiet-host", 1, "records-db", "files"), box("alder", Role.HOST, "mail"))
    backup, rebuilt, again = task(Sort.BACK_UP, "mail"), task(Sort.REUSE, "alder"), task(Sort.MOVE, "mail")
    second = replace(SECOND, tasks=tuple(moving("records-db")))
    last = replace(LAST, tasks=(task(Sort.COOLING_OFF, "split-unit"), task(Sort.RETIRE, "birch")))
    held = task(Sort.HOLD, "birch")
    late = [
        replace(THIRD, tasks=(*moving("files"), held, backup)),
        replace(last, tasks=(*last.tasks, rebuilt)),
        wave(5, 5, again),
    ]
    words = "alder is rebuilt in wave 4, which does not set mail up on it again"
    yield BrokenOrder(Walked.REBUILD, words, SITE, target, order(second, *late), alone=False)
    third = replace(THIRD, tasks=(*moving("files"), held))
    soon = replace(last, tasks=(*last.tasks, backup, again, rebuilt))
    words = "alder is rebuilt after mail was set up on it"
    yield BrokenOrder(Walked.REBUILD, words, SITE, target, order(second, third, soon), alone=False)


def _plugged() -> BrokenOrder:
    """Plug a box over that is switched off."""
    target = folded(unit("quiet-host", 1, "records-db", "mail"), box("birch", Role.HOST, "files"))
    third = wave(3, 2, task(Sort.HOLD, "birch"), task(Sort.REPLUG, "birch"))
    found = order(third, without(LAST, "retire: birch"))
    return BrokenOrder(
        Walked.REPLUG, "birch is plugged over, but is not on", SITE, target, found, alone=False
    )


def too_much() -> Iterator[BrokenOrder]:
    """List orders whose steps ask too much of the rack and of a breaker."""
    taller = tuple(replace(k, spec=replace(k.spec, rack_u=1)) for k in SITE.kinds)
    full = replace(SITE, kinds=taller, room=replace(SITE.room, rack_u=6))
    yield _broken(Walked.RACK, "the rack holds 7 units with boxes kept", GOOD, full, alone=False)
    # 200 + 160/0.8 + 100 + 40/0.8 + 600 = 1150 W today, 1270 W with the host, and half of 200 W for a start
    circuit = Circuit("circuit-a", 100.0, 13.0, 1300.0)
    tight = replace(SITE, supply=replace(SITE.supply, circuits=(circuit,)))
    said = "circuit-a is asked for 1370 W while a machine starts, its breaker bears 1300 W"
    yield _broken(Walked.START, said, GOOD, tight)


BROKEN_ORDERS = (*on_paper(), *in_time(), *in_company(), *out_of_turn(), *too_much())
