"""Fuzzes the reader of load samples by mutation of CSV files: rows, columns, cells and text.

``python -m tests.fuzz.samples --count 10000 --seed 0``; the options are those of ``tests.fuzz.inventories``.
Each file stands beside a small inventory that names it, and the whole is checked as ``stillroom check`` does.
"""

from __future__ import annotations

import random
import sys
import warnings
from functools import lru_cache

from planner.inventory import InventoryError, load_text
from planner.report.check.page import page_of_error, page_of_site
from tests.fuzz import campaign
from tests.fuzz.inventories import FILE, check_faces, folder
from tests.fuzz.text_mutations import mutate_text
from tests.inventory.base import EXAMPLES, changed

HEADS = ("time", "cpu_percent", "memory_gib", "iops", "network_mbps")
CELLS = (
    "", " ", "0", "-0", "-1", "100", "100.0001", "1e308", "-1e308", "1e-308", "nan", "inf", "-inf", "1_0",
    "1,5", "١", "0x10", "text", "None", "NA", "true", '"', "'", "=1+1", "#", "2027-01-11 08:05",
    "2027-01-11T08:05+01:00", "2027-01-11", "08:05", "2027-W02-1", "0001-01-01", "9999-12-31 23:59",
    "2027-02-30", "2027-01-11 24:00", "1799999999", "2027-01-11 08:05Z", "2027-01-11 08:05:00.123456",
    "2027-01-11 08:05-23:59", "\u202e", "\x1b[2J", "9" * 400, "x" * 3000,
)  # fmt: skip
DELIMITERS = (";", "\t", "|", " ", ",,", ", ")


@lru_cache(maxsize=1)
def rows() -> tuple[tuple[str, ...], ...]:
    """Read a week of samples, heads first."""
    text = (EXAMPLES / "samples" / "drawings.csv").read_text(encoding="utf-8")
    return tuple(tuple(line.split(",")) for line in text.splitlines())


def mutant(seed: int) -> tuple[str, str]:
    """Build the mutant of a seed: the text of the CSV, and by which hours its figures are asked for."""
    rng = random.Random(seed)
    by = rng.choice(("all", "day", "day", "week"))
    step = 1 if by == "week" and rng.random() < 0.5 else rng.choice((2, 7, 14, 50))
    table = [list(row) for row in (rows()[0], *rows()[1::step])]
    columns = sorted(rng.sample(range(1, len(HEADS)), rng.randint(1, 4)))
    table = [[row[0], *(row[index] for index in columns)] for row in table]
    for _ in range(rng.choice((0, 1, 1, 2, 4))):
        _change(table, rng)
    text = rng.choice(("\n", "\n", "\n", "\r\n", "\r")).join(_lines(table, rng))
    return (mutate_text(text, rng) if rng.random() < 0.3 else text), by


def _lines(table: list[list[str]], rng: random.Random) -> list[str]:
    delimiter = rng.choice(DELIMITERS) if rng.random() < 0.05 else ","
    return [delimiter.join(row) for row in table]


def _change(table: list[list[str]], rng: random.Random) -> None:
    """Change one cell, row or column."""
    at = rng.randrange(len(table)) if table else 0
    way = rng.randrange(8)
    if not table or not table[at]:
        table.append([rng.choice(CELLS)])
    elif way <= 2:
        table[at][rng.randrange(len(table[at]))] = rng.choice(CELLS)
    elif way == 3:
        del table[at]
    elif way == 4:
        table.insert(at, list(rng.choice(table)))
    elif way == 5:
        del table[at][rng.randrange(len(table[at]))]
    elif way == 6:
        table[at].insert(rng.randrange(len(table[at]) + 1), rng.choice((*CELLS, *HEADS)))
    else:
        _change_column(table, rng)


def _change_column(table: list[list[str]], rng: random.Random) -> None:
    """Take a column out, put one in, or give it another head."""
    width = len(table[0])
    column, way = rng.randrange(width) if width else 0, rng.randrange(3)
    if way == 0:
        for row in table:
            del row[column : column + 1]
    elif way == 1:
        for index, row in enumerate(table):
            row.insert(column, rng.choice((*HEADS, "")) if index == 0 else rng.choice(("1", "2.5", "0")))
    elif width:
        table[0][column] = rng.choice((*HEADS, *CELLS, table[0][column].upper()))


def inventory(by: str, text: str) -> str:
    """Write the small inventory whose service has samples, and by hand what they do not bring."""
    keys = [f"samples: {{file: samples/mutant.csv, by: {by}}}"]
    keys.append("cores: 4" if "cpu_percent" in text else "cpu: 0.5")
    keys += [] if "memory_gib" in text else ["memory: 2 GiB"]
    return changed("cpu: 0.5, memory: 2 GiB", ", ".join(keys))


def trial(seed: int) -> str:
    """Run the mutant of a seed through the check; 'usable' where its figures were taken."""
    text, by = mutant(seed)
    (folder() / "samples" / "mutant.csv").write_bytes(text.encode("utf-8", "surrogatepass"))
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            page = page_of_site(FILE, load_text(inventory(by, text), folder() / FILE))
        except InventoryError as error:
            page = page_of_error(FILE, error)
        check_faces(page)
    return "usable" if page.usable else "refused"


if __name__ == "__main__":
    chosen = campaign.arguments(__doc__ or "")
    if chosen.show:
        print(mutant(chosen.seed)[0].encode("utf-8", "backslashreplace").decode())
        print(f"# {trial(chosen.seed)}")
        sys.exit(0)
    # By its full name, so that other processes find it.
    from tests.fuzz.samples import trial as named

    sys.exit(campaign.main(named, chosen))
