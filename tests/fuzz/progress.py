"""Mutates progress files: cut short, with lines and characters changed, with values of another kind.

By hand: ``python -m tests.fuzz.progress --count 100000 --seed 1``. Reading one either gives a progress that
can be written and read again, or names the file and says what is wrong; what is kept aside can be read.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

from planner.moves.tasks.progress import Booked, Entry, Mark, Progress
from planner.moves.tasks.readings import Reading
from planner.moves.tracking.progress_file import ProgressError, dump, parsed
from planner.moves.tracking.progress_rescue import rescued
from tests.fuzz import campaign

NAME = "office.progress.yaml"
AT = datetime(2027, 3, 6, 13, 0, tzinfo=UTC)
VALUES = (
    "", "~", "true", "-1", "1e400", ".inf", ".nan", "[", "]", "{", "}", "'", '"', "[1, [2]]", "{a: b}",
    "&a [*a]", "*a", "!!python/object:os.system x", "!!binary aGk=", "2027-13-45",
    "0001-01-01T00:00:00+14:00",
    "9999-12-31T23:59:59-12:00", "2027-03-06", "12:30", "0x1F", "99999999999999999999", "- x", "? x", "%TAG",
    "\t", "\u0000", "\ud7ff", "\ufeff", "move: mail", "a" * 3000, "[" * 1500, "<<: {a: 1}", "---", "...",
)  # fmt: skip


def a_progress(rng: random.Random) -> Progress:
    """Draw a progress with marks, an order and readings."""
    tasks = [f"{sort}: thing-{number}" for number in range(4) for sort in ("back up", "move", "hold")]

    def some() -> tuple[str, ...]:
        return tuple(rng.sample(tasks, rng.randrange(5)))

    entries = tuple(
        Entry(
            number, rng.choice([*Mark]), some(), AT + timedelta(days=number), rng.choice(["", "Grüße: [x]"])
        )
        for number in range(1, rng.randrange(2, 6))
    )
    order = tuple(
        Booked(number, some(), *((AT, AT + timedelta(hours=6)) if rng.random() < 0.7 else (None, None)))
        for number in range(rng.randrange(4))
    )
    readings = tuple(
        Reading(number, some(), AT, (("desk", 41.5),), rng.choice([None, 820.0]), 24.0, "winter")
        for number in range(rng.randrange(3))
    )
    return Progress(entries, order, readings)


def _cut(rng: random.Random, text: str) -> str:
    return text[: rng.randrange(len(text) + 1)]


def _without_lines(rng: random.Random, text: str) -> str:
    lines = text.splitlines(keepends=True)
    at = rng.randrange(len(lines) + 1)
    return "".join(lines[:at] + lines[at + rng.randrange(1, 4) :])


def _line_twice(rng: random.Random, text: str) -> str:
    lines = text.splitlines(keepends=True) or [""]
    line = rng.choice(lines)
    lines.insert(rng.randrange(len(lines) + 1), line)
    return "".join(lines)


def _value(rng: random.Random, text: str) -> str:
    lines = text.splitlines(keepends=True) or [""]
    at = rng.randrange(len(lines))
    key, colon, _ = lines[at].partition(": ")
    lines[at] = f"{key}{colon or ': '}{rng.choice(VALUES)}\n"
    return "".join(lines)


def _inserted(rng: random.Random, text: str) -> str:
    at = rng.randrange(len(text) + 1)
    return text[:at] + rng.choice(VALUES) + text[at:]


def _character(rng: random.Random, text: str) -> str:
    at = rng.randrange(max(1, len(text)))
    return text[:at] + chr(rng.choice([rng.randrange(128), rng.randrange(0xD7FF)])) + text[at + 1 :]


def _indented(rng: random.Random, text: str) -> str:
    lines = text.splitlines(keepends=True) or [""]
    at = rng.randrange(len(lines))
    lines[at] = rng.choice(["  ", "    ", "- ", "\t"]) + lines[at]
    return "".join(lines)


MUTATIONS: tuple[Callable[[random.Random, str], str], ...] = (
    _cut, _without_lines, _line_twice, _value, _inserted, _character, _indented,
)  # fmt: skip


def mutated(seed: int) -> bytes:
    """Make the mutated file of a seed; seldom with bytes that are no UTF-8."""
    rng = random.Random(seed)
    text = dump(a_progress(rng))
    for _ in range(rng.choice((1, 1, 2, 4))):
        text = rng.choice(MUTATIONS)(rng, text)
    data = text.encode("utf-8", errors="replace")
    if rng.random() < 0.05:
        at = rng.randrange(len(data) + 1)
        data = data[:at] + bytes(rng.randrange(256) for _ in range(3)) + data[at:]
    return data


def run_one(seed: int) -> str:
    """Read the mutated file of a seed; whatever is raised but ProgressError is a fault."""
    data = mutated(seed)
    kept = rescued(data)
    assert parsed(NAME, dump(kept)) == kept, "what is kept aside cannot be read again"
    try:
        found = parsed(NAME, data.decode("utf-8", errors="replace"))
    except ProgressError as error:
        words = str(error)
    else:
        assert parsed(NAME, dump(found)) == found, "what is read is not what is written again"
        return "taken"
    assert words.startswith(NAME), f"no file is named: {words}"
    return "refused"


if __name__ == "__main__":
    options = campaign.arguments("Fuzz the reading of progress files.")
    if options.show:
        sys.stdout.buffer.write(mutated(options.seed))
    sys.exit(campaign.main(run_one, options))
