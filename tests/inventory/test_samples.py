"""Demands from samples: what a CSV becomes, what is said about it, and its mistakes."""

from __future__ import annotations

import statistics
from datetime import datetime, timedelta
from pathlib import Path

import jsonschema
import pytest

from planner.inventory import schema
from planner.inventory.text.yaml_tree import parse
from tests.inventory.base import changed, load_text, problems_of

SAMPLED = changed("cpu: 0.5, memory: 2 GiB,", "cores: 2, samples: perf/web.csv,")
MONDAY = datetime(2027, 1, 11)
HEADS = "time,cpu_percent,memory_gib\n"


def rows(hours: int = 168, every_min: int = 30, memory: float = 3.0) -> str:
    """Write samples from Monday 00:00 on: 10 % and its hour of the day by CPU, memory as given."""
    count = hours * 60 // every_min
    times = [MONDAY + timedelta(minutes=every_min * number) for number in range(count)]
    return "".join(f"{moment:%Y-%m-%d %H:%M},{10 + moment.hour},{memory}\n" for moment in times)


def write(folder: Path, text: str) -> None:
    """Put a table where the inventory looks for it."""
    (folder / "perf").mkdir(exist_ok=True)
    (folder / "perf" / "web.csv").write_text(text, encoding="utf-8")


def test_samples_become_a_day_of_hours_and_say_so(tmp_path: Path) -> None:
    """Half of two cores at 10 % and more each hour; the file, its span and the rule stand in the defaults."""
    write(tmp_path, HEADS + rows())
    loaded = load_text(tmp_path, SAMPLED)
    demand = loaded.site.service["web"].demand
    assert demand.cpu == pytest.approx([2 * (10 + hour) / 100 for hour in range(24)])
    assert set(demand.memory_gib) == {3.0}
    told = {item.path: item for item in loaded.defaults}
    assert "up to 33 %" in told["services.web.load"].value
    assert "336 of them in perf/web.csv, 2027-01-11 to 2027-01-17" in told["services.web.load"].why
    jsonschema.Draft202012Validator(schema()).validate(parse(SAMPLED, "site.yaml").data)


def test_p95_is_linear_between_samples(tmp_path: Path) -> None:
    """As `statistics.quantiles` gives it by the inclusive method, which is the same rule."""
    figures = [float(number**2 % 97) for number in range(48)]
    times = [MONDAY + timedelta(hours=number) for number in range(48)]
    lines = [f"{moment:%Y-%m-%dT%H:%M},{value},1" for moment, value in zip(times, figures, strict=True)]
    write(tmp_path, HEADS + "\n".join(lines) + "\n")
    text = SAMPLED.replace("perf/web.csv", "{file: perf/web.csv, by: all}")
    demand = load_text(tmp_path, text).site.service["web"].demand
    expected = statistics.quantiles(figures, n=100, method="inclusive")[94]
    assert demand.cpu == pytest.approx((2 * expected / 100,), rel=1e-5)


def test_a_week_has_its_own_hours(tmp_path: Path) -> None:
    """Monday's nights are not Sunday's."""
    write(tmp_path, HEADS + rows())
    text = SAMPLED.replace("perf/web.csv", "{file: perf/web.csv, by: week}")
    assert load_text(tmp_path, text).site.slots == 168


@pytest.mark.parametrize(
    ("table", "told"),
    [
        ("", "perf/web.csv: the file is empty. Put a CSV there with 'time'"),
        (HEADS, "perf/web.csv holds no samples."),
        (
            "time,cpu_percnt\n",
            "perf/web.csv, row 1: the column cpu_percnt is not known. Did you mean 'cpu_percent'?",
        ),
        ("time\n2027-01-11 00:00\n", "row 1: a column is missing. Write 'time' and one of cpu_percent"),
        (HEADS + "11.1.27,5,1\n", "perf/web.csv, row 2, column time: 11.1.27 is no time. Write one such as"),
        (
            HEADS + "2027-01-11 00:00,5,1\n" * 2,
            "row 3, column time: 2027-01-11 00:00:00 stands there twice (row 2",
        ),
        (
            HEADS + "2027-01-11 00:00,,1\n",
            "row 2, column cpu_percent: nothing is no figure. Write a number, in %",
        ),
        (HEADS + "2027-01-11 00:00,101,1\n", "row 2, column cpu_percent: 101 %? write 0 to 100"),
        (HEADS + "2027-01-11 00:00,nan,1\n", "row 2, column cpu_percent: nan %? write 0 to 100"),
        (HEADS + "2027-01-11 00:00,5,-1\n", "row 2, column memory_gib: -1 GiB? write 0 or more"),
        (
            HEADS + rows(22),
            "has no sample in 2 of the 24 hours of the day (22:00, 23:00). Sample for longer, or",
        ),
    ],
)
def test_a_mistake_names_file_row_and_column(tmp_path: Path, table: str, told: str) -> None:
    """One mistake, one sentence, at the line of the inventory that asks for the samples."""
    write(tmp_path, table)
    problems = problems_of(tmp_path, SAMPLED)
    assert told in str(problems[0])
    assert str(problems[0]).startswith("site.yaml:12: services.web.samples: ")
    assert len(problems) == 1


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("perf/web.csv", "perf/wbe.csv", "perf/wbe.csv: "),
        ("perf/web.csv", "../web.csv", "../web.csv leaves the folder."),
        ("perf/web.csv", "{file: perf/web.csv, by: month}", "by month? write one of all, day, week"),
        ("perf/web.csv", "5", "5? write a file, or {file: samples/db.csv, by: week}"),
        ("cores: 2", "cpu: 1, cores: 2", "both cpu and samples of it in perf/web.csv? Keep one of the two."),
        ("cores: 2", "memory: 1 GiB, cores: 2", "both memory and samples of it in perf/web.csv?"),
    ],
)
def test_what_asks_for_samples_wrongly_is_told(tmp_path: Path, old: str, new: str, told: str) -> None:
    """With the repair."""
    write(tmp_path, HEADS + rows())
    problems = problems_of(tmp_path, changed(old, new, SAMPLED))
    assert told in str(problems[0])
    assert len(problems) == 1
