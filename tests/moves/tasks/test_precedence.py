"""Orders of moves: what comes before what, what never goes together, and where they lead."""

from __future__ import annotations

from dataclasses import replace

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.domain.machines import Role
from planner.domain.order import task_id
from planner.domain.practice import copy_hours
from planner.domain.rules import Apart
from planner.domain.site import Site
from planner.domain.state import Machine, State, state_today
from planner.moves import Order, Sort, order
from planner.moves.tasks.state_difference import Change
from planner.moves.tasks.states import moment
from planner.moves.tasks.walk import walk
from planner.moves.tasks.wave import steps
from planner.moves.tasks.work_packages import work_of
from tests.kit.sites import medium_site, plain_site, random_site
from tests.moves.kit import onto_host, service, site_with
from tests.moves.targets import target

SEEDS = st.integers(min_value=0, max_value=10_000)
FEW = settings(max_examples=20, deadline=None)


def given_site(seed: int) -> tuple[Site, State]:
    """Make a random site and a state to reach."""
    site = medium_site(seed, 9) if seed % 3 == 0 else random_site(seed)
    return site, target(site, seed)


def waves_of(found: Order) -> dict[str, int]:
    """Collect the number of the wave that moves each service."""
    return {name: wave.number for wave in found.waves for name in wave.moves}


def broken(found: Order) -> set[tuple[str, str]]:
    """List the dependencies that were given up."""
    return {edge for ring in found.cycles for edge in ring.broken} | {*found.given_up}


@pytest.mark.slow
@FEW
@given(SEEDS)
def test_the_last_wave_ends_in_the_target(seed: int) -> None:
    """What is left after the last wave is the state that was asked for."""
    site, state = given_site(seed)
    found = order(site, state)
    if found.waves:
        assert found.waves[-1].state_after == state
    else:
        assert not work_of(Change(site, state)).tasks


@pytest.mark.slow
@FEW
@given(SEEDS)
def test_every_service_is_carried_at_every_step(seed: int) -> None:
    """No step loses a service, and none runs on more than two machines."""
    site, state = given_site(seed)
    work = work_of(Change(site, state))
    done: set[str] = set()
    for wave in order(site, state).waves:
        batch = {work.of_task[task.id] for task in wave.tasks}
        for now in steps(work, done, batch):
            assert all(1 <= len(now.state.where(item.name)) <= 2 for item in site.services)
        done |= {task.id for task in wave.tasks}
        assert all(len(wave.state_after.where(item.name)) == 1 for item in site.services)
    assert done == set(work.tasks)


@pytest.mark.slow
@FEW
@given(SEEDS)
def test_every_task_is_done_once_and_after_what_it_waits_for(seed: int) -> None:
    """Tasks come once, and every link holds with its lag."""
    site, state = given_site(seed)
    work = work_of(Change(site, state))
    found = order(site, state)
    line = [(task.id, wave.number) for wave in found.waves for task in wave.tasks]
    place = {id_: (number, index) for index, (id_, number) in enumerate(line)}
    assert len(place) == len(line) == len(work.tasks)
    graph = nx.DiGraph([(link.before, link.after) for link in work.links])
    tied = {
        block.name for block in work.blocks if not nx.is_directed_acyclic_graph(graph.subgraph(block.ids))
    }
    for link in work.links:
        before, after = place[link.before], place[link.after]
        assert before[0] + (1 if link.lag else 0) <= after[0]
        assert before[1] < after[1] or work.of_task[link.before] in tied


@pytest.mark.slow
@FEW
@given(SEEDS)
def test_providers_never_follow_their_consumers(seed: int) -> None:
    """A service moves in no earlier wave than what it depends on."""
    site, state = given_site(seed)
    found = order(site, state)
    at, given_up = waves_of(found), broken(found)
    for item in site.services:
        for provider in item.depends_on:
            if item.name in at and provider in at and (item.name, provider) not in given_up:
                assert at[provider] <= at[item.name]


@pytest.mark.slow
@FEW
@given(SEEDS)
def test_the_same_site_gives_the_same_order(seed: int) -> None:
    """An order depends on nothing but its site and its target."""
    site, state = given_site(seed)
    again, same = given_site(seed)
    assert order(site, state) == order(again, same)


@pytest.mark.slow
@FEW
@given(SEEDS, st.floats(min_value=4.0, max_value=10.0))
def test_no_wave_is_longer_than_asked(seed: int, hours: float) -> None:
    """A wave fits its hours with its way back, or is one block that a note names."""
    site, state = given_site(seed)
    work = work_of(Change(site, state))
    found = order(site, state, hours=hours)
    for wave in found.waves:
        blocks = {work.of_task[task.id] for task in wave.tasks}
        fits = wave.hours + wave.way_back_h <= hours + 1e-6
        assert fits or (len(blocks) == 1 and any(next(iter(blocks)) in note for note in found.notes))


def test_directory_servers_never_move_together() -> None:
    """Three directory or name servers take three waves."""
    site = site_with(
        service("dc-1", roles=frozenset({"directory"})),
        service("dc-2", "birch", roles=frozenset({"directory"})),
        service("names", "birch", roles=frozenset({"dns"})),
        service("wiki"),
    )
    at = waves_of(order(site, onto_host(site)))
    assert len({at["dc-1"], at["dc-2"], at["names"]}) == 3


def test_a_backup_server_moves_alone() -> None:
    """What is backed up and what backs it up never move in one wave."""
    site = site_with(service("vault", roles=frozenset({"backup"})), service("files"), service("wiki"))
    at = waves_of(order(site, onto_host(site)))
    assert at["vault"] not in (at["files"], at["wiki"])


def test_both_halves_of_a_pair_never_move_together() -> None:
    """Services that are kept apart and do the same job go one after the other."""
    pair = [service(name, roles=frozenset({"database"})) for name in ("db-1", "db-2")]
    site = replace(site_with(*pair, service("wiki")), apart=(Apart(frozenset({"db-1", "db-2"}), "pair"),))
    other = Machine("host-2", Role.HOST, "circuit-a", ("db-2",), kind="quiet-host")
    state = onto_host(site, "db-1", "wiki")
    state = replace(state, machines=(state.machines[0], other))
    at = waves_of(order(site, state))
    assert at["db-1"] != at["db-2"]


def test_what_all_log_in_to_moves_in_a_wave_before() -> None:
    """A directory server and what authenticates to it never move in one wave."""
    site = site_with(
        service("dc", roles=frozenset({"directory"})), service("mail", depends_on=("dc",)), service("wiki")
    )
    at = waves_of(order(site, onto_host(site)))
    assert at["dc"] < at["mail"]


def test_a_directory_server_is_promoted_anew() -> None:
    """A directory server is never converted, whatever its method says."""
    site = site_with(service("dc", roles=frozenset({"directory"}), method="convert"))
    task = work_of(Change(site, onto_host(site))).tasks["move: dc"]
    assert "Promote a fresh dc" in task.text
    assert "never roll an image back" in task.rollback


def test_a_ring_is_named_and_moves_together() -> None:
    """Services that depend on each other are reported by name and go in one wave."""
    site = site_with(service("app", depends_on=("db",)), service("db", depends_on=("app",)), service("wiki"))
    found = order(site, onto_host(site))
    at = waves_of(found)
    assert [ring.services for ring in found.cycles] == [("app", "db")]
    assert at["app"] == at["db"]
    assert any("app, db" in note for note in found.notes)


def test_a_ring_of_directory_servers_is_broken_at_the_cheapest_edge() -> None:
    """Two directory servers that need each other go apart; the less needed one breaks its edge."""
    site = site_with(
        service("dc-1", roles=frozenset({"directory"}), depends_on=("dc-2",)),
        service("dc-2", roles=frozenset({"directory"}), depends_on=("dc-1",), restart=False),
    )
    found = order(site, onto_host(site))
    assert found.cycles[0].broken == (("dc-2", "dc-1"),)
    at = waves_of(found)
    assert at["dc-2"] < at["dc-1"]


def test_a_pilot_of_harmless_services_goes_first() -> None:
    """The first wave that moves something moves at most three services that nothing depends on."""
    names = [service(f"page-{index}") for index in range(5)]
    site = site_with(service("db", roles=frozenset({"database"})), *names)
    found = order(site, onto_host(site))
    first = next(wave for wave in found.waves if wave.moves)
    assert first.name == "Pilot"
    assert 1 <= len(first.moves) <= 3
    assert "db" not in first.moves


def test_hosts_soak_before_anything_moves_there() -> None:
    """A bought machine is brought in a wave before its first service."""
    site = plain_site()
    found = order(site, onto_host(site))
    brought = next(w.number for w in found.waves for t in w.tasks if t.sort is Sort.BRING_IN)
    assert all(number > brought for number in waves_of(found).values())


def test_cooling_goes_off_last_and_the_air_path_comes_before() -> None:
    """The old cooling stops only after the heat has fallen and the new air path runs."""
    site = plain_site()
    cooling = {"summer": frozenset({"split-unit"}), "winter": frozenset({"door-fan"})}
    state = replace(onto_host(site), cooling=cooling)
    line = [task for wave in order(site, state).waves for task in wave.tasks]
    place = {task.id: index for index, task in enumerate(line)}
    off = place["cooling off: split-unit"]
    assert place["cooling on: door-fan"] < off
    assert all(place[f"hold: {box}"] < off for box in ("alder", "birch"))


def test_a_box_is_rebuilt_only_after_its_residents_have_left() -> None:
    """A freed box that becomes a host carries nothing before, and then what moves there."""
    site = plain_site()
    host = Machine("host-1", Role.HOST, "circuit-a", ("records-db", "mail"), kind="quiet-host")
    again = Machine("alder", Role.HOST, "circuit-a", ("files",), box="alder")
    state = State((host, again), cooling=state_today(site).cooling)
    found = order(site, state)
    at = {task.id: wave.number for wave in found.waves for task in wave.tasks}
    assert max(at["move: records-db"], at["move: mail"]) < at["re-use: alder"] < at["move: files"]
    assert found.waves[-1].state_after == state


def test_boxes_held_for_rollback_take_their_rack_units() -> None:
    """A box that is off but kept in place still fills the rack (2 + 2 + 2 units of boxes and switches)."""
    site = plain_site()
    change = Change(site, onto_host(site))
    everything = frozenset(work_of(change).tasks)
    retired = {task_id(Sort.RETIRE, box) for box in ("alder", "birch")}
    assert moment(change, everything - retired).rack_u == 6
    assert moment(change, everything).rack_u == 2


def test_a_wave_that_overheats_the_room_says_so_in_numbers() -> None:
    """Old and new side by side: 240 W more than today's cooling at the limit carries is reported."""
    site = plain_site()
    weak = replace(
        site.cooling[0],
        removal={name: replace(item, capacity_w=0.0) for name, item in site.cooling[0].removal.items()},
    )
    tight = replace(site, cooling=(weak, *site.cooling[1:]), policy=replace(site.policy, inlet_limit_c=33.0))
    found = order(tight, onto_host(tight))
    assert any("the room reaches" in text and "limit 33 °C" in text for text in found.breaches)


def test_copying_a_terabyte_over_a_gigabit_takes_two_and_a_half_hours() -> None:
    """D05: 1 TB at 112 MB/s takes 2.48 h; the slower network of the two counts."""
    item = replace(service("files"), demand=replace(service("files").demand, disk_gb=(1000.0,)))
    fast = plain_site().boxes[0].spec
    assert copy_hours(item, fast, fast) == pytest.approx(2.48, abs=0.01)
    slow = replace(fast, network_mbps=100.0)
    assert copy_hours(item, fast, slow) == pytest.approx(24.8, abs=0.1)


def test_nothing_to_do_gives_no_waves() -> None:
    """Today as the target needs no wave."""
    site = plain_site()
    assert order(site, state_today(site)).waves == ()


def test_a_ring_of_which_only_one_moves_says_so() -> None:
    """A ring is reported even where there is nothing to move together."""
    site = site_with(service("app", depends_on=("db",)), service("db", depends_on=("app",)), service("wiki"))
    found = order(site, onto_host(site, "app", "wiki"))
    assert found.cycles[0].text == "app, db depend on each other; only app moves."


def test_a_dependency_is_given_up_rather_than_a_service_stopped() -> None:
    """A consumer must leave the box on which its provider is set up anew: it goes first, and that is said."""
    site = site_with(service("db"), service("app", depends_on=("db",)), service("wiki", "birch"))
    host = Machine("host-1", Role.HOST, "circuit-a", ("app", "wiki"), kind="quiet-host")
    again = Machine("alder", Role.HOST, "circuit-a", ("db",), box="alder")
    state = State((host, again), cooling=state_today(site).cooling)
    found = order(site, state)
    assert found.given_up == (("app", "db"),)
    assert any("app moves before db" in note for note in found.notes)
    at = {task.id: wave.number for wave in found.waves for task in wave.tasks}
    assert at["move: app"] < at["re-use: alder"] == at["move: db"]
    assert walk(site, state, found) == ()


def test_two_boxes_that_wait_for_each_other_are_named() -> None:
    """Each box is to be rebuilt for what is on the other: no order exists without a machine to step on."""
    site = site_with(service("db"), service("app", "birch"))
    boxes = tuple(replace(box, hosts_today=False, may_host=True) for box in site.boxes)
    site = replace(site, boxes=boxes)
    machines = tuple(
        Machine(box, Role.HOST, "circuit-a", (name,), box=box)
        for box, name in (("alder", "app"), ("birch", "db"))
    )
    state = State(machines, cooling=state_today(site).cooling)
    found = order(site, state)
    assert any(note.startswith("Deadlock:") and "borrowed machine" in note for note in found.notes)
    assert found.waves[-1].state_after == state
