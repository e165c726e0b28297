"""The scheduler against brute force, against naive orders, and where no schedule can be."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import date, time
from pathlib import Path

import networkx as nx
import pytest

from planner.domain.air import Removal
from planner.domain.machines import Circuit, Role
from planner.domain.plan import Outcome
from planner.domain.rules import Recurring, Windows
from planner.domain.site import Site
from planner.domain.state import Machine, State, state_today
from planner.inventory import load
from planner.moves.bounds.proof import Proof
from planner.moves.grid.evaluation import build_slots, evaluate, find_strains
from planner.moves.grid.slots import Slot
from planner.moves.grid.windows import build_windows
from planner.moves.scheduling.request import Options, Request
from planner.moves.scheduling.schedule import schedule, solve_request
from planner.moves.tasks.state_difference import Change
from planner.moves.tasks.walk import walk
from planner.moves.tasks.work_packages import Work, work_of
from planner.moves.tracking.arranging import arrange
from planner.moves.tracking.order_in_use import OrderInUse
from planner.report.moves.build import ways_out
from tests.kit.sites import plain_site, random_site, tiny_site
from tests.moves.brute import best, plain_batches
from tests.moves.kit import onto_host, service, site_with
from tests.moves.targets import good_target

WEEKLY = Windows("Europe/Vienna", (Recurring(5, time(8), 10.0),), (), date(2027, 3, 1))
LONG = replace(WEEKLY, recurring=(Recurring(5, time(8), 12.0), Recurring(2, time(19), 5.0)))


CASES = 7
ROOT = Path(__file__).resolve().parents[3]
START = date(2027, 3, 1)


def small_cases() -> list[tuple[int, Site, State]]:
    """List tiny sites with at most six blocks of work."""
    found = []
    for seed in range(60):
        site = replace(tiny_site(seed), windows=WEEKLY)
        state = good_target(site)
        if state is not None and 2 <= len(work_of(Change(site, state)).blocks) <= 6:
            found.append((seed, site, state))
        if len(found) == CASES:
            break
    return found


@pytest.mark.slow
def test_brute_force_agrees_on_windows_and_level() -> None:
    """On tiny sites no order needs fewer windows or, with as many, has less level over time."""
    cases = small_cases()
    assert len(cases) == CASES
    for seed, site, state in cases:
        work = work_of(Change(site, state))
        when = build_windows(site.windows, 5)
        found = solve_request(Request(work, when, Options(time_s=60.0)))
        expected = best(work, build_slots(found.windows or when, 1))
        if expected is None:
            assert found.outcome is Outcome.INFEASIBLE, seed
            continue
        assert found.outcome is Outcome.PROVEN, seed
        assert found.evaluation is not None
        assert found.evaluation.windows == expected.windows, seed
        assert found.evaluation.loudness == pytest.approx(expected.loudness, rel=1e-5, abs=1e-9), seed


def naive(work: Work, slots: list[Slot]) -> list[set[str]] | None:
    """Put the blocks into the first window that takes them, in plain topological order."""
    batches: list[set[str]] = []
    left = list(nx.lexicographical_topological_sort(work.graph))
    placed: dict[str, int] = {}
    for index, slot in enumerate(slots):
        batch: set[str] = set()
        while left and _takes(work, slots, slot, batch, placed, left[0], index):
            batch.add(left[0])
            placed[left.pop(0)] = index
        batches.append(batch)
    return None if left else batches


def _takes(
    work: Work,
    slots: list[Slot],
    slot: Slot,
    batch: set[str],
    placed: dict[str, int],
    name: str,
    index: int,
) -> bool:
    hours = sum(work.block[other].hours for other in [*batch, name])
    if hours > slot.hours or any(name in rule.blocks and batch & {*rule.blocks} for rule in work.nevers):
        return False
    for before in work.graph.predecessors(name):
        lag, at = work.lags[before, name], placed[before]
        if (lag >= 1 and at >= index) or (lag == 2 and slots[index].start_h < slots[at].end_h + 168.0):
            return False
    return True


@pytest.mark.slow
def test_never_louder_over_time_than_the_naive_order_of_as_many_windows() -> None:
    """In plain topological order the room is loud for as long or longer, or more windows are needed."""
    compared = 0
    for seed in range(16):
        site = replace(random_site(seed), windows=LONG)
        state = good_target(site)
        if state is None or not (work := work_of(Change(site, state))).blocks:
            continue
        found = schedule(site, state, Options(time_s=5.0))
        plain = naive(work, build_slots(found.windows, 1))
        if found.evaluation is None or plain is None or find_strains(work, plain):
            continue
        compared += 1
        other = evaluate(work, build_slots(found.windows, 1), plain)
        assert found.evaluation.windows <= other.windows
        if found.evaluation.windows == other.windows and found.outcome is Outcome.PROVEN:
            assert found.evaluation.loudness <= other.loudness * (1.0 + 1e-6)
    assert compared >= 3


@pytest.mark.slow
@pytest.mark.parametrize("name", ["small-office", "mid-size"])
def test_on_the_examples_the_plain_order_is_never_quieter_over_time(name: str) -> None:
    """In the same calendar, over the same weeks: neither with windows first nor with quiet first."""
    site = load(ROOT / "inventories" / f"{name}.yaml").site
    state = good_target(site)
    assert state is not None
    work = work_of(Change(site, state))
    plain_slots = build_slots(build_windows(site.windows, 80, START), site.windows.crew)
    plain = plain_batches(work, plain_slots)
    if plain is None:
        # A plan for which the plainest order fits no circuit has nothing to be compared with.
        assert name != "small-office"
        assert arrange(OrderInUse(site, state), Options(START, time_s=20.0)).is_good
        return
    assert not find_strains(work, plain)
    for quiet_first in (False, True):
        found = schedule(site, state, Options(START, time_s=20.0, quiet_first=quiet_first))
        assert walk(site, state, found.order) == ()
        starts = [window.start for window in build_windows(site.windows, 80, START)]
        batches: list[set[str]] = [set() for _ in starts]
        for wave in found.order.waves:
            assert wave.start is not None
            batches[starts.index(wave.start)] = {work.of_task[task.id] for task in wave.tasks}
        ours, other = evaluate(work, plain_slots, batches), evaluate(work, plain_slots, plain)
        assert ours.loudness <= other.loudness * (1.0 + 1e-9)
        assert ours.windows <= other.windows or quiet_first
        for aim in found.aims:
            assert 0.0 <= aim.bound <= aim.value


@pytest.mark.slow
def test_each_bound_says_by_which_method_it_is_known() -> None:
    """Host, moves, a week of rollback from their end, retirement: four Saturdays by order, 1 + 1 + 2."""
    site = replace(plain_site(), windows=Windows("UTC", (Recurring(5, time(8), 8.0),), (), START))
    found = schedule(site, onto_host(site), Options(time_s=20.0))
    methods = {aim.name: aim.bound_by for aim in found.aims}
    assert set(methods) == {"windows", "level over time", "watts over time", "critical at once"}
    assert methods["windows"] is Proof.PACKING_DUALS
    assert found.aims[0].bound == found.aims[0].value == 4.0
    figures = {Proof.PER_WINDOW, Proof.TIME_INDEXED, Proof.EXACT}
    assert {methods["level over time"], methods["watts over time"]} <= figures
    assert methods["critical at once"] in (Proof.EVEN_SPREAD, Proof.EXACT)


@pytest.mark.slow
def test_a_freed_box_becomes_a_host_in_mid_course() -> None:
    """A box is emptied, held, rebuilt, and then takes over what another box carried."""
    site = replace(plain_site(), windows=LONG)
    host = Machine("host-1", Role.HOST, "circuit-a", ("records-db", "mail"), kind="quiet-host")
    again = Machine("alder", Role.HOST, "circuit-a", ("files",), box="alder")
    state = State((host, again), cooling=state_today(site).cooling)
    found = schedule(site, state)
    assert found.outcome is Outcome.PROVEN
    assert walk(site, state, found.order) == ()
    at = {task.id: wave for wave in found.order.waves for task in wave.tasks}
    freed, rebuilt = at["hold: alder"], at["re-use: alder"]
    assert freed.end is not None
    assert rebuilt.start is not None
    assert (rebuilt.start - freed.end).days >= 7
    assert at["move: files"].number > rebuilt.number


@pytest.mark.slow
def test_the_same_seed_gives_the_same_schedule() -> None:
    """A schedule depends on nothing but its site, target and options."""
    site = replace(plain_site(), windows=LONG)
    assert schedule(site, onto_host(site)).order == schedule(site, onto_host(site)).order


def test_a_cancelled_search_still_gives_the_order_it_was_built_from() -> None:
    """Cancelled at once: the order built window by window stands, not proven."""
    site = replace(plain_site(), windows=LONG)
    cancel = threading.Event()
    cancel.set()
    state = onto_host(site)
    found = schedule(site, state, cancel=cancel)
    assert found.outcome is Outcome.STOPPED_WITH_PLAN
    assert walk(site, state, found.order) == ()


@pytest.mark.slow
def test_two_people_do_more_in_a_window_than_one() -> None:
    """Twice the hands never need more windows; what follows each other still fits one by one."""
    items = [service(f"page-{index}") for index in range(12)]
    site = replace(site_with(*items), windows=replace(WEEKLY, recurring=(Recurring(5, time(8), 6.0),)))
    one = schedule(site, onto_host(site))
    two = schedule(replace(site, windows=replace(site.windows, crew=2)), onto_host(site))
    assert one.evaluation is not None
    assert two.evaluation is not None
    assert two.evaluation.windows < one.evaluation.windows


@pytest.mark.slow
def test_a_move_longer_than_every_window_names_the_window_it_needs() -> None:
    """A file server with hours of copying asks for a longer window or a replica."""
    big = service("files", "birch")
    big = replace(big, demand=replace(big.demand, disk_gb=(1900.0,)))
    site = replace(
        site_with(big, service("wiki")), windows=replace(WEEKLY, recurring=(Recurring(5, time(8), 4.0),))
    )
    found = schedule(site, onto_host(site))
    assert found.outcome is Outcome.INFEASIBLE
    assert any(
        "move: files" in text and "replicate" in text for text in ways_out(site, found.said, found.conflicts)
    )


@pytest.mark.slow
def test_a_circuit_too_small_for_both_names_the_watts_that_lack() -> None:
    """200 + 160/0.8 + 40/0.8 + 100 + 600 W today; 120 W of a new host are 70 W too many on 1220 W."""
    site = plain_site()
    circuit = Circuit("circuit-a", 230.0, 16.0, 1200.0)
    site = replace(site, windows=LONG, supply=replace(site.supply, circuits=(circuit,)))
    found = schedule(site, onto_host(site))
    assert found.outcome is Outcome.INFEASIBLE
    assert ways_out(site, found.said, found.conflicts) == (
        "in wave 1 at the latest circuit-a lacks 70 W: have a temporary circuit for 70 W, or plug over.",
    )
    assert found.order.breaches


@pytest.mark.slow
def test_a_room_too_hot_for_both_names_the_watts_that_stay() -> None:
    """With hardly any cooling to spare, old and new side by side ask for a borrowed cooler."""
    site = plain_site()
    weak = replace(site.cooling[0], removal={n: Removal(capacity_w=300.0) for n in ("summer", "winter")})
    site = replace(site, windows=LONG, cooling=(weak, *site.cooling[1:]))
    found = schedule(site, onto_host(site))
    assert found.outcome is Outcome.INFEASIBLE
    assert any("borrow a cooler" in text for text in ways_out(site, found.said, found.conflicts))


def test_without_a_first_day_nothing_is_guessed() -> None:
    """No start date anywhere is the person's to repair."""
    site = plain_site()
    with pytest.raises(ValueError, match="start_date"):
        schedule(site, onto_host(site))


def test_nothing_to_do_is_a_proven_schedule_without_waves() -> None:
    """Today as the target needs no window."""
    site = replace(plain_site(), windows=LONG)
    found = schedule(site, state_today(site))
    assert found.outcome is Outcome.PROVEN
    assert found.order.waves == ()


@pytest.mark.slow
def test_a_day_lies_between_soak_and_move_and_between_directory_servers() -> None:
    """With windows every twelve hours a host soaks a day, and so do two directory servers wait."""
    roles = frozenset({"directory"})
    twice = tuple(Recurring(day, time(hour), 6.0) for day in range(7) for hour in (8, 20))
    site = site_with(service("dc-1", roles=roles), service("dc-2", "birch", roles=roles), service("wiki"))
    site = replace(site, windows=replace(WEEKLY, recurring=twice))
    found = schedule(site, onto_host(site))
    assert found.outcome is Outcome.PROVEN
    assert walk(site, onto_host(site), found.order) == ()
    at = {task.id: wave for wave in found.order.waves for task in wave.tasks}
    pairs = [("prepare: host-1", "move: wiki"), *[("move: dc-1", "move: dc-2")]]
    for one, other in pairs:
        first, second = sorted((at[one], at[other]), key=lambda wave: wave.number)
        assert first.end is not None
        assert second.start is not None
        assert (second.start - first.end).total_seconds() >= 24 * 3600


def swapping_site() -> tuple[Site, State]:
    """Make two hosts of today that exchange their one big guest: each needs the room the other has."""
    base = plain_site()
    big = replace(service("db", "alder").demand, memory_gib=(16.0,))
    hosts = tuple(
        replace(box, hosts_today=True, on_ups=False, spec=replace(base.boxes[0].spec, memory_gib=32.0))
        for box in base.boxes
    )
    guests = (replace(service("db", "alder"), demand=big), replace(service("files", "birch"), demand=big))
    site = replace(base, boxes=hosts, services=guests, windows=LONG)
    machines = tuple(
        Machine(box, Role.HOST, "circuit-a", (name,), box=box)
        for box, name in (("alder", "files"), ("birch", "db"))
    )
    return site, State(machines, cooling=state_today(site).cooling)


@pytest.mark.slow
def test_two_hosts_that_exchange_their_guests_need_a_machine_to_step_on() -> None:
    """16 + 16 GiB of guests, 2 x 0.5 and 4 GiB of a host on 0.8 x 32 GiB: 11.4 GiB lack while both run."""
    site, state = swapping_site()
    found = schedule(site, state)
    assert found.outcome is Outcome.INFEASIBLE
    assert any(
        "borrow a machine with at least 11.4 GiB of memory" in text
        for text in ways_out(site, found.said, found.conflicts)
    )
    assert any("GiB of memory" in text for text in found.order.breaches)


def test_a_borrowed_host_with_room_lets_them_exchange() -> None:
    """With the memory that lacked there is a schedule."""
    site, state = swapping_site()
    boxes = tuple(replace(box, spec=replace(box.spec, memory_gib=32.0 + 11.4 / 0.8)) for box in site.boxes)
    assert schedule(replace(site, boxes=boxes), state).outcome is Outcome.PROVEN


@pytest.mark.slow
def test_a_rack_too_small_for_both_names_the_units_that_lack() -> None:
    """6 units are taken today; a host of 2 units on 7 lacks one."""
    site = plain_site()
    kinds = tuple(replace(kind, spec=replace(kind.spec, rack_u=2)) for kind in site.kinds)
    site = replace(site, windows=LONG, kinds=kinds, room=replace(site.room, rack_u=7))
    found = schedule(site, onto_host(site))
    assert found.outcome is Outcome.INFEASIBLE
    assert any("the rack lacks 1 units" in text for text in ways_out(site, found.said, found.conflicts))
