"""The polynomials of the schedule against the ledger, moment by moment."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from planner.domain.site import Site
from planner.domain.state import Machine
from planner.ledger import climate, draw, ledger
from planner.ledger.sums import heat_w
from planner.moves import order
from planner.moves.figures.evaluator import LimitEvaluator, build_sums
from planner.moves.figures.loudness import loudness, reference_dba
from planner.moves.figures.polynomials import Literal, once
from planner.moves.figures.room_figures import Figures
from planner.moves.tasks.state_difference import Change
from planner.moves.tasks.states import moment
from planner.moves.tasks.work_packages import work_of
from tests.kit.sites import medium_site, random_site
from tests.moves.kit import onto_host, service, site_with
from tests.moves.targets import target


def _load(site: Site, machine: Machine) -> float:
    """Compute a machine's utilisation without its limit of 1, above which nothing is linear."""
    used = sum(site.service[name].demand.mean_cpu for name in machine.services)
    return used * draw.cpu_factor(site, machine.role) / machine.spec(site).cpu


@pytest.mark.slow
@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000))
def test_polynomials_give_what_the_ledger_adds_up(seed: int) -> None:
    """After every wave loudness, watts, circuits, rack and heat over the limit are those of the ledger."""
    site = medium_site(seed, 8) if seed % 2 else random_site(seed, room_measures=2)
    change = Change(site, target(site, seed))
    figures, reference = Figures(change), reference_dba(site)
    loud, watts, rack = figures.loudness(), figures.mean_power(), figures.rack()
    circuits = {circuit.name: figures.circuit(circuit.name) for circuit in site.supply.circuits}
    heats = {season.name: figures.heat(season) for season in site.seasons}
    done: set[str] = set()

    def is_done(literal: Literal) -> bool:
        return literal.name in done and not literal.early

    for wave in order(site, change.target).waves:
        done |= {task.id for task in wave.tasks}
        now = moment(change, done)
        assume(all(_load(site, machine) <= 1.0 for machine in now.state.machines))
        assert loud.value(is_done) == pytest.approx(loudness(site, now.state, reference))
        assert rack.value(is_done) == pytest.approx(now.rack_u)
        book = ledger(site, now.state)
        assert watts.value(is_done) == pytest.approx(book.mean_power_w)
        for name, poly in circuits.items():
            assert poly.value(is_done) == pytest.approx(draw.circuit_loads_w(site, now.state)[name])
        for season in site.seasons:
            limit_c = site.policy.inlet_limit_c
            out_w = climate.room_capacity_w(site, season, now.state.measures, limit_c) + sum(
                climate.option_capacity_w(site, season, option, limit_c)
                for option in climate.running(site, season, now.state)
            )
            over_w = heat_w(site, now.state, season) - out_w
            assert heats[season.name].value(is_done) == pytest.approx(over_w, abs=1e-6)


def test_a_task_is_not_taken_for_another_done_a_wave_earlier() -> None:
    """A literal of mail, done a wave earlier, is one only then, whatever is done of a service 'mail@'."""
    site = site_with(service("mail"), service("mail@", "birch"))
    work = work_of(Change(site, onto_host(site, keep=True)))
    figure, reads = once(Literal("move: mail", early=True)), LimitEvaluator(work)
    waves = {(): ("move: mail@",), ("move: mail@",): ("move: mail",), ("move: mail",): ("move: mail@",)}
    found = [
        float(
            build_sums(work, [figure]).read(
                reads.flags([work.of_task[i] for i in before], [work.of_task[now[0]]])
            )[0]
        )
        for before, now in waves.items()
    ]
    assert found == [0.0, 0.0, 1.0]
