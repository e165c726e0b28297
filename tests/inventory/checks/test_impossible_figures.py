"""Figures and forms that no site can have are refused at their line, with a repair, before any division."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.inventory.base import SMALL, changed, load_text, problems_of

BARE_CONCRETE = "[0.01, 0.01, 0.01, 0.02, 0.02, 0.02, 0.02, 0.02]"


def surfaces(absorption: str) -> str:
    """Write the small file with one surface all round."""
    old = "room: {size: 4 x 3 x 2.5 m}"
    new = f"room: {{size: 4 x 3 x 2.5 m, surfaces: {{all: {{area: 59 m2, absorption: {absorption}}}}}}}"
    return changed(old, new)


def behind(absorption: str) -> str:
    """Write the small file with its listener behind a door."""
    wall = "elements: {door: {loss: 25 dB, area: 2 m2}}"
    room = f"room: {{size: 5 x 4 x 2.5 m, absorption: {absorption}}}"
    return changed(
        "desk: {distance: 2 m, target: 45 dBA}", f"desk: {{behind: {{{wall}, {room}}}, target: 45 dBA}}"
    )


def measure(keys: str) -> str:
    """Write the small file with one measure."""
    return f"{SMALL}measures:\n  quieter: {{{keys}}}\n"


def box(keys: str) -> str:
    """Write the small file with other cores or disks of its box."""
    return changed("oak: {cores: 4, memory: 16 GiB, disk: 1 TB", f"oak: {{{keys}, memory: 16 GiB")


REFUSED = {
    "no cores": (box("cores: 0, disk: 1 TB"), 10, "boxes.oak.cores", "at least 0.01"),
    "no speed": (box("cores: 4, score: 0, disk: 1 TB"), 10, "boxes.oak.score", "at least 0.01"),
    "no CPU": (box("cpu: 0, disk: 1 TB"), 10, "boxes.oak.cpu", "at least 0.01"),
    "a disk of no size": (
        box("cores: 4, disks: {count: 2, size: 0 GB, raid: 1}"),
        10,
        "boxes.oak.disks.size",
        "more than 0 GB",
    ),
    "a UPS that gives nothing": (
        changed("left: {breaker: 16 A}", "left: {breaker: 16 A}\n  ups_efficiency: 0 %"),
        7,
        "supply.ups_efficiency",
        "at least 10 %",
    ),
    "surfaces that swallow nothing": (
        surfaces("[0, 0, 0, 0, 0, 0, 0, 0]"),
        1,
        "room",
        "leave the surfaces out",
    ),
    "surfaces that swallow all of an octave": (
        surfaces("[0.1, 0.1, 0.1, 1, 0.1, 0.1, 0.1, 0.1]"),
        1,
        "room",
        "leave the surfaces out",
    ),
    "an office that swallows nothing": (behind("0 %"), 3, "listeners.desk.behind.room", "write 1 to 100 %"),
    "a distance of almost nothing": (
        changed("distance: 2 m", "distance: 1e-200 m"),
        3,
        "listeners.desk.distance",
        "at least 0.001 m",
    ),
    "cooling that runs in a season it leaves out": (
        changed("runs_today: [summer, winter]", "works_in: [winter], runs_today: [summer, winter]"),
        8,
        "cooling.cooler.runs_today",
        "Add the season to works_in",
    ),
    "air that runs in a season it does not name": (
        changed("takes_out: 2 kW, power: 700 W", "air: {winter: {flow: 100 m3/h}}, power: 20 W"),
        8,
        "cooling.cooler.runs_today",
        "Write its air of summer",
    ),
    "cooling that works in no season": (
        changed("runs_today: [summer, winter]", "works_in: []"),
        8,
        "cooling.cooler.works_in",
        "at least 1",
    ),
    "air that says its seasons twice": (
        changed(
            "takes_out: 2 kW, power: 700 W,", "air: {winter: {flow: 9 l/s}}, works_in: [winter],"
        ).replace("runs_today: [summer, winter]", "runs_today: []"),
        8,
        "cooling.cooler",
        "take works_in out",
    ),
    "air in no season": (
        changed("takes_out: 2 kW, power: 700 W, runs_today: [summer, winter]", "air: {}"),
        8,
        "cooling.cooler.air",
        "at least 1",
    ),
    "a season left out that is named": (
        f"{SMALL}seasons:\n  winter: {{surroundings: 20 °C, hours: 8760}}\n",
        8,
        "cooling.cooler.runs_today[0]",
        "There are: winter",
    ),
    "a library that is a list": (
        measure("library: [rubber-feet], target: oak"),
        16,
        "measures.quieter.library",
        "Did you mean 'rubber-feet'?",
    ),
    "a library that is a mapping": (
        measure("library: {rubber-feet: 1}, target: oak"),
        16,
        "measures.quieter.library",
        "Did you mean 'rubber-feet'?",
    ),
    "a target that is a list": (
        measure("library: rubber-feet, target: [oak]"),
        16,
        "measures.quieter.target",
        "Write the name as plain text",
    ),
    "a target that is a mapping": (
        measure("library: rubber-feet, target: {oak: 1}"),
        16,
        "measures.quieter.target",
        "Write the name as plain text",
    ),
    "a part that is a list": (
        measure("library: door-seal, target: room, part: [door]"),
        16,
        "measures.quieter.part",
        "Write the name as plain text",
    ),
    "samples that are a list": (
        changed("cpu: 0.5, memory: 2 GiB", "cores: 2, samples: [day.csv]"),
        12,
        "services.web.samples",
        "write a file",
    ),
    "samples by a list": (
        changed("cpu: 0.5, memory: 2 GiB", "cores: 2, samples: {file: day.csv, by: [day]}"),
        12,
        "services.web.samples",
        "write one of all, day, week",
    ),
    "a section called as pydantic marks a key": (f'{SMALL}"[key]": 1\n', 15, "[key]", "Known keys"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_no_site_can_have_is_refused(tmp_path: Path, case: str) -> None:
    """One problem, at its line and path, that says what to write."""
    text, line, path, repair = REFUSED[case]
    problems = problems_of(tmp_path, text)
    assert [(problem.line, problem.path) for problem in problems] == [(line, path)]
    assert repair in problems[0].repair


def test_a_room_of_bare_concrete_is_taken(tmp_path: Path) -> None:
    """1 to 2 % is what tables give for concrete: the least that a room may swallow lies below."""
    room = load_text(tmp_path, surfaces(BARE_CONCRETE)).site.room
    assert room.surfaces[0].absorption[0] == 0.01


@pytest.mark.parametrize("empty", ["seasons: {}", "seasons:", "seasons: null"])
def test_without_seasons_summer_and_winter_are_taken(tmp_path: Path, empty: str) -> None:
    """An empty section is none: the usual two seasons are there, and what names them is right."""
    site = load_text(tmp_path, f"{SMALL}{empty}\n").site
    assert [season.name for season in site.seasons] == ["summer", "winter"]
    assert sum(season.hours for season in site.seasons) == 8760.0
