"""How long a service is down while it moves: the way that is chosen, and what is said where none will do."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from planner.domain.machines import Role
from planner.domain.plan import Outcome
from planner.domain.state import Machine, State, state_today
from planner.moves import order
from planner.moves.scheduling.request import Options
from planner.moves.tasks.downtime import downtime_notes
from planner.moves.tasks.state_difference import Change
from planner.moves.tasks.work_packages import work_of
from planner.moves.tracking.arranging import arrange
from planner.moves.tracking.order_in_use import OrderInUse
from tests.moves.kit import onto_host, service, site_with, small


def test_a_move_longer_than_its_allowed_downtime_is_noted() -> None:
    """A service that would be down too long is named with the way out."""
    item = service("mail", downtime_min=10.0)
    site = site_with(item, service("wiki"))
    notes = order(site, onto_host(site)).notes
    assert any("mail is down" in note and "10 min" in note for note in notes)


def test_the_way_to_move_is_chosen_by_what_a_service_bears() -> None:
    """100 GB take 15 min to copy (D05), 15 to turn back: who bears 30 is converted, who bears 20 not."""
    demand = small(100.0)
    patient = service("files", downtime_min=30.0, demand=demand, method_said=False)
    hasty = service("mail", downtime_min=20.0, demand=demand, method_said=False)
    told = service("wiki", downtime_min=20.0, demand=demand)
    site = site_with(patient, hasty, told)
    found = work_of(Change(site, onto_host(site))).tasks
    assert [found[f"move: {name}"].method for name in ("files", "mail", "wiki")] == [
        "convert",
        "replicate",
        "convert",
    ]
    assert found["move: mail"].down_h == pytest.approx(0.25)
    assert "for it bears 20 min down" in found["move: mail"].text


@pytest.mark.parametrize(
    ("limit_min", "method", "ways"),
    [
        (20.0, "convert", ["replicate it beforehand", "copy it over a link of 2976 Mbit/s or more"]),
        (10.0, "convert", []),
        (10.0, "replicate", []),
    ],
)
def test_a_limit_that_cannot_be_met_names_its_ways_out(
    limit_min: float, method: str, ways: list[str]
) -> None:
    """100 GB in 5 min are 333 MB/s, at 0.112 MB/s a Mbit/s 2976 Mbit/s; a switch takes 15 min in any case."""
    site = site_with(service("mail", downtime_min=limit_min, demand=small(100.0), method=method))
    (note,) = downtime_notes(work_of(Change(site, onto_host(site))))
    down_min = 15.0 if method == "replicate" else 100_000.0 / 112.0 / 60.0 + 15.0
    assert f"mail is down for {down_min:.0f} min while it moves, its limit is {limit_min:.0f} min" in note
    assert [way for way in ("replicate it", "copy it over a link of 2976 Mbit/s") if way in note] == [
        way.removesuffix(" or more").removesuffix(" beforehand") for way in ways
    ]
    assert f"or let it be down for {down_min:.0f} min" in note


def test_a_service_whose_box_is_rebuilt_under_it_needs_a_machine_to_step_on() -> None:
    """No replica helps where old and new are one machine."""
    site = site_with(service("mail", downtime_min=60.0, method_said=False), service("wiki", "birch"))
    target = State(
        (Machine("alder", Role.HOST, "circuit-a", ("mail", "wiki"), box="alder"),),
        cooling=state_today(site).cooling,
    )
    (note,) = downtime_notes(work_of(Change(site, target)))
    assert "borrow a machine for it to step on while alder is rebuilt" in note


@pytest.mark.slow
@pytest.mark.parametrize("start", [None, date(2027, 3, 1)])
def test_no_order_is_given_while_a_service_would_be_down_for_too_long(start: date | None) -> None:
    """The limit is a rule, with dates and without; with a longer limit there are waves."""
    mail = service("mail", downtime_min=20.0, demand=small(100.0))
    site = site_with(mail, service("wiki", "birch"))
    found = arrange(OrderInUse(site, onto_host(site)), Options(start, time_s=5.0))
    assert found.outcome is Outcome.INFEASIBLE
    assert found.order.waves == ()
    assert found.said[0].startswith("mail is down for 30 min while it moves, its limit is 20 min")
    longer = site_with(replace(mail, downtime_min=30.0), service("wiki", "birch"))
    assert arrange(OrderInUse(longer, onto_host(longer)), Options(start, time_s=5.0)).order.waves
