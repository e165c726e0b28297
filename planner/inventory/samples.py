"""Demands from samples of load: a CSV beside the inventory becomes P95 figures, by hour or as one."""

from __future__ import annotations

import io
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path as FilePath
from typing import Any

from planner.domain.resources import RESOURCES
from planner.inventory.loaded import Default
from planner.inventory.text.errors import InventoryError, Path, show
from planner.inventory.text.nearest import suggestion
from planner.inventory.text.yaml_tree import Tree, read_text

KEY = "samples"
TIME = "time"
P95 = 95.0
HOURS_BY = {"all": 1, "day": 24, "week": 168}
"""How many figures a column becomes: one, one an hour of the day, one an hour of the week."""

COLUMNS: Mapping[str, tuple[str, str, float]] = {
    "cpu_percent": ("load", "%", 100.0),
    **{
        name: (RESOURCES[name].key, RESOURCES[name].unit, math.inf)
        for name in ("memory_gib", "iops", "network_mbps")
    },
}
"""Of each column: the key of the service that it fills, its unit, and the most that a sample may be."""

MOST_TOLD = 5


class SampleError(Exception):
    """What is wrong with a table of samples, and the repair."""

    def __init__(self, message: str, repair: str) -> None:
        super().__init__(message)
        self.message = message
        self.repair = repair


@dataclass(frozen=True)
class Samples:
    """A table that was read: times on the wall, and by column a figure a time."""

    times: tuple[datetime, ...]
    columns: Mapping[str, tuple[float, ...]]


def add_samples(tree: Tree, folder: FilePath) -> list[Default]:
    """Fill in what services have samples for, and give what was taken; mistakes join the tree's problems."""
    services = tree.data.get("services")
    taken: list[Default] = []
    for name, service in services.items() if isinstance(services, dict) else ():
        if isinstance(service, dict) and KEY in service:
            try:
                taken += _filled(name, service, folder)
            except SampleError as error:
                path: Path = ("services", name, KEY)
                tree.problems.append(tree.problem(path, error.message, error.repair))
                _stand_in(service)
    return taken


def _stand_in(service: dict[str, Any]) -> None:
    """Put figures where samples were to bring them, so that one mistake is told once."""
    service.setdefault("memory", "0 GiB")
    if "cpu" not in service:
        service.setdefault("load", "0 %")


def _filled(name: str, service: dict[str, Any], folder: FilePath) -> list[Default]:
    file, by = _asked(service[KEY])
    samples = table(_text(folder, file), file)
    clash = [key for key in ("cpu", *(COLUMNS[column][0] for column in samples.columns)) if key in service]
    clash = clash if "cpu_percent" in samples.columns else [key for key in clash if key != "cpu"]
    if clash:
        raise SampleError(f"both {clash[0]} and samples of it in {show(file)}?", "Keep one of the two.")
    taken = []
    for column, values in samples.columns.items():
        key, unit, _ = COLUMNS[column]
        figures = p95(samples.times, values, by, file)
        written = [f"{figure:.6g} {unit}" for figure in figures]
        service[key] = written[0] if len(written) == 1 else written
        words = (
            f"{written[0]}"
            if len(written) == 1
            else f"P95 by hour of the {by}, up to {max(figures):.4g} {unit}"
        )
        taken.append(Default(f"services.{name}.{key}", words, _why(samples, file)))
    return taken


def _why(samples: Samples, file: str) -> str:
    first, last = min(samples.times), max(samples.times)
    span = f"{first:%Y-%m-%d} to {last:%Y-%m-%d}"
    count = len(samples.times)
    return f"P95, linear between samples: {count} of them in {show(file)}, {span}, hours of the wall clock"


def _asked(value: Any) -> tuple[str, str]:
    if isinstance(value, str):
        return value, "day"
    known = {"file", "by"}
    if (
        not isinstance(value, dict)
        or not {"file"} <= set(value) <= known
        or not isinstance(value["file"], str)
    ):
        raise SampleError(f"{show(value)}?", "write a file, or {file: samples/db.csv, by: week}")
    by = value.get("by", "day")
    if not isinstance(by, str) or by not in HOURS_BY:
        raise SampleError(f"by {show(by)}?", f"write one of {', '.join(HOURS_BY)}")
    return value["file"], by


def _text(folder: FilePath, file: str) -> str:
    if FilePath(file).is_absolute() or ".." in FilePath(file).parts:
        raise SampleError(
            f"{show(file)} leaves the folder.", "Name a file beside the inventory, or below it."
        )
    try:
        return read_text(folder / file)
    except InventoryError as error:
        reasons = " ".join(problem.message for problem in error.problems)
        repair = f"Put a CSV there with '{TIME}' and one of {', '.join(COLUMNS)}."
        raise SampleError(f"{show(file)}: {reasons}", repair) from None


def table(text: str, file: str) -> Samples:
    """Read a table of samples; SampleError names file, row and column of the first mistake.

    Rows count as in a spreadsheet: the heads are row 1.
    """
    # Imported here: only a file with samples waits for it.
    import pandas

    try:
        frame = pandas.read_csv(io.StringIO(text), dtype=str, keep_default_na=False, skipinitialspace=True)
    except (pandas.errors.ParserError, pandas.errors.EmptyDataError, ValueError) as error:
        raise SampleError(
            f"{show(file)} is no CSV: {show(error)}.", "Write a row of heads, then a row a sample."
        ) from None
    heads = [str(head).strip() for head in frame.columns]
    _check_heads(heads, file)
    rows = [dict(zip(heads, map(str, row), strict=True)) for row in frame.itertuples(index=False, name=None)]
    if not rows:
        raise SampleError(f"{show(file)} holds no samples.", "Write a row a sample.")
    times = tuple(_times(rows, file))
    columns = {head: tuple(_figures(rows, head, file)) for head in heads if head != TIME}
    return Samples(times, columns)


def _check_heads(heads: list[str], file: str) -> None:
    for head in heads:
        if head != TIME and head not in COLUMNS:
            repair = suggestion(head, [TIME, *COLUMNS]) or f"Known: {', '.join([TIME, *COLUMNS])}."
            raise SampleError(f"{show(file)}, row 1: the column {show(head)} is not known.", repair)
    if TIME not in heads or len(heads) < 2:
        raise SampleError(
            f"{show(file)}, row 1: a column is missing.", f"Write '{TIME}' and one of {', '.join(COLUMNS)}."
        )


def _times(rows: list[dict[str, str]], file: str) -> Iterator[datetime]:
    seen: dict[datetime, int] = {}
    for number, row in enumerate(rows, start=2):
        place = f"{show(file)}, row {number}, column {TIME}"
        try:
            moment = datetime.fromisoformat(row[TIME].strip())
        except ValueError:
            raise SampleError(
                f"{place}: {show(row[TIME])} is no time.", "Write one such as 2027-01-11 08:05."
            ) from None
        if moment in seen:
            raise SampleError(
                f"{place}: {moment} stands there twice (row {seen[moment]} too).",
                "Take one out, or write times with +01:00.",
            )
        seen[moment] = number
        # The hour on the wall counts, whatever the offset: load follows the working day.
        yield moment.replace(tzinfo=None)


def _figures(rows: list[dict[str, str]], head: str, file: str) -> Iterator[float]:
    _, unit, most = COLUMNS[head]
    for number, row in enumerate(rows, start=2):
        place = f"{show(file)}, row {number}, column {head}"
        try:
            figure = float(row[head])
        except ValueError:
            what = show(row[head]) or "nothing"
            raise SampleError(f"{place}: {what} is no figure.", f"Write a number, in {unit}.") from None
        if not 0.0 <= figure <= most or math.isinf(figure):
            limit = f"0 to {most:g}" if math.isfinite(most) else "0 or more"
            raise SampleError(f"{place}: {figure:g} {unit}?", f"write {limit}")
        yield figure


def p95(times: tuple[datetime, ...], values: tuple[float, ...], by: str, file: str) -> tuple[float, ...]:
    """Compute the 95th percentiles by hour (numpy's 'linear'); SampleError where an hour has no sample."""
    import numpy

    count = HOURS_BY[by]
    groups: list[list[float]] = [[] for _ in range(count)]
    for moment, value in zip(times, values, strict=True):
        groups[(moment.weekday() * 24 + moment.hour) % count].append(value)
    empty = [hour for hour, group in enumerate(groups) if not group]
    if empty:
        told = ", ".join(_hour(hour, by) for hour in empty[:MOST_TOLD]) + (
            ", ..." if len(empty) > MOST_TOLD else ""
        )
        raise SampleError(
            f"{show(file)} has no sample in {len(empty)} of the {count} hours of the {by} ({told}).",
            f"Sample for longer, or write {{file: {show(file)}, by: {'day' if by == 'week' else 'all'}}}.",
        )
    return tuple(float(numpy.percentile(group, P95, method="linear")) for group in groups)


def _hour(hour: int, by: str) -> str:
    day = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")[hour // 24]
    return f"{day} {hour % 24:02}:00" if by == "week" else f"{hour:02}:00"
