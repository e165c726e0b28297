"""Changes of fans by the fan laws, and air that is supplied in front of the machines."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from planner.domain.state import state_today
from planner.inventory import Loaded
from planner.ledger import ledger
from tests.inventory.base import SMALL, changed, load_text, problems_of


def _with(fans: str, folder: Path) -> Loaded:
    return load_text(folder, f"{SMALL}measures:\n  slow: {{target: oak, fans: {fans}}}\n")


def _less_db(loaded: Loaded) -> float:
    effect = loaded.site.measures[0].source_effect
    assert effect is not None
    return effect.reduction_db[0]


def _left(change_db: float, floor_db: float) -> float:
    return -10 * math.log10(10 ** (change_db / 10) + 10 ** (-floor_db / 10))


def test_twelve_to_seven_volts(tmp_path: Path) -> None:
    """6/11 of the speed after 1 V of electronics: -13.16 dB (S10), with a floor 15 dB under: 10.98 dB."""
    loaded = _with("{from: 12 V, to: 7 V}", tmp_path)
    assert _less_db(loaded) == pytest.approx(_left(-13.16, 15.0), abs=0.01)
    assert "fan-swap" in loaded.site.measures[0].cautions
    said = " ".join(map(str, loaded.warnings))
    assert "may not start when cold" in said
    assert "only 55 % of the air" in said
    assert any(
        "55 % of the air at 30 % of the pressure and 55 % of the speed" in str(item)
        for item in loaded.defaults
    )


def test_a_tested_start_takes_the_doubt_away(tmp_path: Path) -> None:
    """Started at 5.5 V eight times of eight: half a volt of margin is there."""
    loaded = _with("{from: 12 V, to: 7 V, starts_at: 5.5 V}", tmp_path)
    assert "may not start" not in " ".join(map(str, loaded.warnings))


def test_speed_as_a_share(tmp_path: Path) -> None:
    """70 % of the speed: 50 lg 0.7 = -7.75 dB; no floor near."""
    loaded = _with("{speed: 70 %, floor: 40 dB}", tmp_path)
    assert _less_db(loaded) == pytest.approx(7.75, abs=0.02)


def test_few_large_fans_for_many_small_ones(tmp_path: Path) -> None:
    """6 x 40 mm by 2 x 120 mm at equal air: 10 lg(1/3) + 70 lg 3 - 50 lg 9 = -19.08 dB, pressure (1/3)^2."""
    loaded = _with("{old: 6 x 40 mm, new: 2 x 120 mm, floor: 40 dB}", tmp_path)
    by_hand = 10 * math.log10(1 / 3) + 70 * math.log10(3) - 50 * math.log10(9)
    assert _less_db(loaded) == pytest.approx(_left(by_hand, 40.0), abs=0.01)
    assert any("11 % of the pressure" in str(item) for item in loaded.warnings)
    assert any("11 % of the speed" in str(item) for item in loaded.defaults)
    assert "quieter" in loaded.site.measures[0].assumed


@pytest.mark.parametrize(
    ("fans", "says"),
    [
        ("{from: 12 V}", "Write both from and to"),
        ("{speed: 70 %, from: 12 V, to: 7 V}", "which change of fans"),
        ("{speed: 0 %}", "stand still"),
        ("{old: forty, new: 2 x 120 mm}", "count x diameter"),
    ],
)
def test_half_a_change_is_refused(fans: str, says: str, tmp_path: Path) -> None:
    """With what to write."""
    found = problems_of(tmp_path, f"{SMALL}measures:\n  slow: {{target: oak, fans: {fans}}}\n")
    assert says in " ".join(map(str, found))


def test_supply_in_front_and_exhaust_behind_cool_the_inlets(tmp_path: Path) -> None:
    """Inlet = supply + r x rise: with 40 % coming round the inlets are 0.4 of the rise over the supply."""
    air = "{{flow: 200 m3/h, supply: 16 °C{more}}}"
    duct = f"  duct: {{{{air: {{{{summer: {air}}}}}, sound: 30 dB, runs_today: [summer]}}}}\nboxes:"
    shut = "room: {size: 4 x 3 x 2.5 m, heat_loss: 0 W/K, leak: 0 m3/h}"
    base = changed("room: {size: 4 x 3 x 2.5 m}", shut)
    base = changed("runs_today: [summer, winter]", "runs_today: [winter], setpoint: 24 °C", base)
    rises = []
    for more in ("", ", recirculation: 40 %"):
        site = load_text(tmp_path, changed("boxes:", duct.format(more=more), base)).site
        rises.append(ledger(site, state_today(site)).season("summer").temperature_c - 16.0)
    assert rises[1] == pytest.approx(0.4 * rises[0], rel=1e-9)


def test_no_aisle_is_perfect(tmp_path: Path) -> None:
    """Under 10 % is refused."""
    duct = "  duct: {air: {summer: {flow: 200 m3/h, recirculation: 5 %}}, sound: 30 dB}\nboxes:"
    assert "some air always comes round" in str(problems_of(tmp_path, changed("boxes:", duct))[0])
