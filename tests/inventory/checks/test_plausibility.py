"""Figures far outside the trade's range are doubted at their line; those inside are not."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from planner.inventory import load
from planner.inventory.checks.plausibility import RANGES
from tests.inventory.base import EXAMPLES, SMALL, changed, load_text

SITE = changed("breaker: 16 A}", "breaker: 16 A}\n  price: 0.3", "site: {currency: GBP}\n" + SMALL)
SITE = changed(
    "desk: {distance: 2 m, target: 45 dBA}",
    "desk: {distance: 2 m, target: 45 dBA}\n  next: \
{behind: {elements: {wall: {loss: 40 dB, area: 6 m2}, slit: {gap: 90 cm2}}, room: {size: 4 x 4 x 3 m}}}",
    SITE,
)


def doubts(folder: Path, text: str) -> dict[str, tuple[int | None, str]]:
    """Collect line and words of what is told of figures outside their range, by path."""
    found = load_text(folder, text).warnings
    return {each.path: (each.line, str(each)) for each in found if "than is usual" in each.message}


@pytest.mark.parametrize(
    ("old", "new", "path", "line", "words"),
    [
        # 100 W at most go in: 9,000 W are 90 times that.
        ("takes_out: 2 kW", "takes_out: 9 kW", "cooling.cooler.takes_out", 11, "is 90 times the heat"),
        ("power: 700 W", "power: 7 kW", "cooling.cooler.power", 11, "is 3.5 times the heat it takes out"),
        # 10 m2 in a wall of 6 m2.
        (
            "gap: 90 cm2",
            "gap: 10 m2",
            "listeners.next.behind.elements.slit.gap",
            5,
            "it is 166.7 % of its wall",
        ),
        # The diagonal of 4 x 3 x 2.5 m is the root of 31.25 m2.
        (
            "distance: 2 m",
            "distance: 60 m",
            "listeners.desk.distance",
            4,
            f"at {60 / math.sqrt(31.25):.4g} times",
        ),
        ("price: 0.3", "price: 27", "supply.price", 9, "is 13.5 times the most"),
        # A sound power of 110 dB over a floor is 10 lg(2 pi) = 8 dB less at 1 m.
        ("sound: 40 dB", "sound: 110 dB", "boxes.oak.sound", 13, "at 1 m it comes to 102 dBA"),
        ("idle: 60 W, peak: 100 W", "idle: 2100 W", "boxes.oak.power", 13, "its idle draw is 2100 W"),
        ("size: 4 x 3 x 2.5 m}\nl", "size: 4 x 3 x 8 m}\nl", "room.size", 2, "its height is 8 m"),
        ("breaker: 16 A", "breaker: 160 A", "supply.circuits.left.breaker", 8, "its breaker is 160 A"),
        ("target: 45 dBA", "target: 4.5 dBA", "listeners.desk.target", 4, "less than is usual"),
        ("memory: 16 GiB", "memory: 16 MiB", "boxes.oak.memory", 13, "its memory is 0.01562 GiB"),
        ("cores: 4", "cores: 400", "boxes.oak.cores", 13, "its cores are 400, more"),
    ],
)
def test_a_figure_far_outside_is_doubted(
    tmp_path: Path, old: str, new: str, path: str, line: int, words: str
) -> None:
    """The file is still usable; line, path, the figure, the range and the likely slip are told."""
    told = doubts(tmp_path, changed(old, new, SITE))
    assert told[path][0] == line
    assert words in told[path][1]
    assert told[path][1].endswith(tuple(usual.slip for usual in RANGES.values()))
    assert len(told) == 1


def test_the_small_site_is_not_doubted(tmp_path: Path) -> None:
    """Figures as they are in the trade."""
    assert not doubts(tmp_path, SITE)


@pytest.mark.parametrize(("currency", "doubted"), [("EUR", True), ("JPY", False), ("crowns", False)])
def test_the_price_is_judged_by_the_currency(tmp_path: Path, currency: str, doubted: bool) -> None:
    """27 yen are a usual price, 27 euros none; of a currency that is not known nothing is said."""
    text = changed("price: 0.3", "price: 27", changed("GBP", currency, SITE))
    assert bool(doubts(tmp_path, text)) == doubted


@pytest.mark.parametrize(
    "path", [path for path in sorted(EXAMPLES.glob("*.yaml")) if path.name != "full-of-mistakes.yaml"]
)
def test_no_example_is_doubted(path: Path) -> None:
    """The examples hold figures that a practitioner would believe."""
    assert not [str(each) for each in load(path).warnings if "than is usual" in each.message]
