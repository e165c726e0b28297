"""Figures that a file leaves out or overstates: what is taken is one that physics can bear, and is said."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.domain.state import State, state_today
from planner.ledger import climate, today_ledger
from planner.ledger.draw import machine_peak_w, machine_w
from planner.report.common.assumed import assumed_entries, climate_assumed
from tests.inventory.base import SMALL, changed, load_text, problems_of

NAS = changed("power: {idle: 60 W, peak: 100 W}", "power: {idle: 9 W, peak: 14 W}")
DISKLESS = "measures:\n  diskless: {library: solid-state-disks, target: oak}\n"


def test_a_cooler_without_set_point_holds_the_usual_one(tmp_path: Path) -> None:
    """24 °C is taken and said; 2 kW against some 100 W of heat would cool the room to -30 °C without."""
    loaded = load_text(tmp_path, SMALL)
    assert loaded.site.cooling[0].setpoint_c == 24.0
    told = {item.path: item.value for item in loaded.defaults}
    assert told["cooling.cooler.setpoint"] == "24 °C"
    entries = {entry.of: entry.figures for entry in assumed_entries(loaded.site)}
    assert "setpoint" in entries["cooler"]
    summer, winter = (season.temperature_c for season in today_ledger(loaded.site).seasons)
    assert summer == 24.0
    assert 21.0 < winter < 24.0  # the walls, 21 °C around them, take the heat before the cooler starts
    assert climate_assumed(loaded.site, state_today(loaded.site))


def test_the_usual_set_point_is_no_warmer_than_the_inlet_limit(tmp_path: Path) -> None:
    """Where 20 °C is the limit, a cooler at 24 °C would never be of use."""
    site = load_text(tmp_path, SMALL + "policy: {inlet_limit: 20 °C}\n").site
    assert site.cooling[0].setpoint_c == 20.0
    assert [season.temperature_c for season in today_ledger(site).seasons] == [20.0, 20.0]


def test_air_has_no_set_point(tmp_path: Path) -> None:
    """Air comes as cold as it is: nothing is taken, and nothing is said."""
    air = "air: {summer: {flow: 100 m3/h}, winter: {flow: 100 m3/h}}, power: 20 W"
    loaded = load_text(tmp_path, changed("takes_out: 2 kW, power: 700 W", air))
    assert loaded.site.cooling[0].setpoint_c is None
    assert "cooling.cooler.setpoint" not in {item.path for item in loaded.defaults}


@pytest.mark.parametrize("setpoint", ["9 °C", "41 °C", "-40 °C"])
def test_a_set_point_no_cooler_has_is_refused(tmp_path: Path, setpoint: str) -> None:
    """No thermostat of a room goes below 10 °C or above 40 °C."""
    problem = problems_of(tmp_path, changed("power: 700 W", f"power: 700 W, setpoint: {setpoint}"))[0]
    assert (problem.line, problem.path) == (8, "cooling.cooler.setpoint")
    assert "It " in problem.repair


def test_a_usual_saving_is_a_share_of_a_small_box(tmp_path: Path) -> None:
    """The usual 12 W are more than a box of 9 W draws: 40 % of it are taken off, 3.6 W, and that is said."""
    loaded = load_text(tmp_path, NAS + DISKLESS)
    effect = loaded.site.measures[0].source_effect
    assert effect is not None
    assert effect.power_delta_w == pytest.approx(-3.6)
    told = {item.path: item.value for item in loaded.defaults}
    assert told["measures.diskless.power"] == "-3.6 W"
    assert not loaded.warnings


def test_a_usual_saving_is_whole_on_a_larger_box(tmp_path: Path) -> None:
    """40 % of 60 W are 24 W, so the usual 12 W stand."""
    effect = load_text(tmp_path, SMALL + DISKLESS).site.measures[0].source_effect
    assert effect is not None
    assert effect.power_delta_w == -12.0


def test_a_written_saving_beyond_the_draw_is_worth_a_look(tmp_path: Path) -> None:
    """Who writes -12 W for a box of 9 W is told; the box then draws 0 W idle, and 5 W more at full load."""
    text = NAS + "measures:\n  diskless: {target: oak, power: -12 W}\n"
    loaded = load_text(tmp_path, text)
    assert [(item.line, item.path) for item in loaded.warnings] == [(16, "measures.diskless.power")]
    site, today = loaded.site, state_today(loaded.site)
    state = State(today.machines, frozenset({"diskless"}), today.cooling)
    # 0.5 of 4 cores: 9 W + 0.125 x 5 W, less 9 W.
    assert machine_w(site, state.machines[0], state.measures) == pytest.approx(0.625)
    assert machine_peak_w(site, state.machines[0], state.measures) == pytest.approx(5.0)


def test_a_room_that_is_made_tighter_than_tight_is_worth_a_look(tmp_path: Path) -> None:
    """15 m3/h leak here by default: 4 x 3 x 2.5 m, half an air change an hour; a seal cannot take off 40."""
    seal = "measures:\n  seal: {target: room, heat_loss: -500 W/K, leak: -40 m3/h}\n"
    loaded = load_text(tmp_path, SMALL + seal)
    told = {item.path: item.message for item in loaded.warnings}
    assert "but the room leaks 15 m3/h" in told["measures.seal.leak"]
    assert "it takes 500 W/K off" in told["measures.seal.heat_loss"]
    measures = frozenset({"seal"})
    assert climate.leak_m3_s(loaded.site, measures) == 0.0
    assert climate.conductance_w_k(loaded.site, measures) == 0.0
