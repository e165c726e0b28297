"""Mutation operators on the trees of inventories: each changes one place, chosen by a random generator."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from tests.fuzz.bases import ANY, Bases, pattern
from tests.fuzz.trees import Pairs, Raw, containers, copied

NUMBER = re.compile(r"[-+]?\d+(\.\d+)?")
EXTREMES = (
    "0", "-0", "-1", "1", "0.0", "1e308", "-1e308", "1e-308", "1e-9", "1e9", "1e16", "9" * 20, "9" * 400,
    "nan", "inf", ".inf", "-.inf", ".nan", ".5", "5.", "1_000", "0x10", "010", "1e400", "1,5", "12:30",
    "٣",
)  # fmt: skip
UNITS = (
    "W", "kW", "GB", "TB", "GiB", "MiB", "TiB", "%", "dB", "B", "dBA", "dBA at 1 m", "dBA at 0 m", "°C",
    "C", "m", "cm", "mm", "m2", "cm2", "m3/h", "m3/s", "l/s", "A", "V", "h", "min", "IOPS", "Mbit/s",
    "Gbit/s", "W/K", "kJ/K", "J/K", "Wh", "kWh", "kg/kWh", "x 40 mm", "x 3 x 2 m", "rpm", "U", "",
    "kelvin", "°F", "µm",
)  # fmt: skip
NAMES = (
    "", " ", "a b", "[/x]", "{}", "a.b", "a[0]", "room", "None", "null", "yes", "0", "-1", "1.5",
    "host-1", "*", "<keys>", "[key]", "é", "e\u0301", "漢字", "\u202e", "\u200d", "\ud800", "x" * 64,
    "x" * 65, "'", '"', "#", "a: b", "- a", "~", "\t", "\n", "\x1b[2J", "=1+1", "../x", "/", "\\", "&a",
    "*a", "!!x", "?", "summer", "winter", "time", "%s", "{0}", "nan",
)  # fmt: skip
ODD_VALUES: tuple[Callable[[], Any], ...] = (
    lambda: None, lambda: True, lambda: False, lambda: 0, lambda: -1, lambda: 1.5, lambda: "",
    lambda: "text", lambda: [], Pairs, lambda: [None], lambda: [[]], lambda: Pairs([("a", 1)]),
    lambda: [1, 2], lambda: ["a", "a"], lambda: Pairs([("a", Pairs())]), lambda: [Pairs()],
    lambda: [0] * 8, lambda: [1] * 24, lambda: [0.0] * 168, lambda: [1] * 7, lambda: 10**18,
    lambda: 1e308, lambda: Raw(".nan"), lambda: Raw(".inf"), lambda: Raw("2027-01-01"),
    lambda: Raw("12:30"), lambda: Raw("&a 1"), lambda: Raw("*a"),
    lambda: Raw("!!python/object:os.system 1"), lambda: Raw("|"), lambda: Raw("? a"), lambda: Raw("{"),
    lambda: "x" * 3000, lambda: "\u202e", lambda: "\ud800",
)  # fmt: skip


@dataclass
class Mutant:
    """A tree that is being changed, with all its containers as they were when the change began."""

    tree: Pairs
    bases: Bases
    rng: random.Random

    def boxes(self) -> list[tuple[tuple[Any, ...], Any]]:
        """List all mappings and sequences that hold something."""
        return [(path, box) for path, box in containers(self.tree) if box]

    def place(self) -> tuple[tuple[Any, ...], Any, int]:
        """Choose an entry: the path of its container, the container, the entry's index."""
        found = self.boxes()
        if not found:
            self.tree.append(("room", None))
            return (), self.tree, 0
        path, box = self.rng.choice(found)
        return path, box, self.rng.randrange(len(box))


def value_at(box: Any, index: int) -> Any:
    """Look up the value of an entry."""
    return box[index][1] if isinstance(box, Pairs) else box[index]


def put(box: Any, index: int, value: Any) -> None:
    """Replace the value of an entry."""
    box[index] = (box[index][0], value) if isinstance(box, Pairs) else value


def delete(mutant: Mutant) -> None:
    """Take an entry out."""
    _, box, index = mutant.place()
    del box[index]


def duplicate(mutant: Mutant) -> None:
    """Put an entry there twice."""
    _, box, index = mutant.place()
    box.insert(mutant.rng.randrange(len(box) + 1), copied_entry(box, index))


def copied_entry(box: Any, index: int) -> Any:
    """Copy an entry with all below it."""
    return (box[index][0], copied(box[index][1])) if isinstance(box, Pairs) else copied(box[index])


def swap(mutant: Mutant) -> None:
    """Swap two values, wherever they stand."""
    _, first, here = mutant.place()
    _, second, there = mutant.place()
    one, two = copied(value_at(first, here)), copied(value_at(second, there))
    put(first, here, two)
    put(second, there, one)


def retype(mutant: Mutant) -> None:
    """Replace a value by one of another sort."""
    _, box, index = mutant.place()
    put(box, index, mutant.rng.choice(ODD_VALUES)())


def borrow(mutant: Mutant) -> None:
    """Replace a value by a scalar from anywhere."""
    _, box, index = mutant.place()
    put(box, index, mutant.rng.choice(mutant.bases.scalars))


def scalar_place(mutant: Mutant) -> tuple[Any, int]:
    """Choose an entry that holds a scalar, if one is met."""
    for _ in range(6):
        _, box, index = mutant.place()
        if not isinstance(value_at(box, index), list):
            break
    return box, index


def extreme(mutant: Mutant) -> None:
    """Replace one number of a value by an extreme one; its unit stays."""
    box, index = scalar_place(mutant)
    value = value_at(box, index)
    number = mutant.rng.choice(EXTREMES)
    if isinstance(value, str) and (found := list(NUMBER.finditer(value))):
        match = mutant.rng.choice(found)
        put(box, index, value[: match.start()] + number + value[match.end() :])
    else:
        put(box, index, Raw(number))


def zero(mutant: Mutant) -> None:
    """Make all numbers of a value nothing; its unit stays."""
    box, index = scalar_place(mutant)
    value = value_at(box, index)
    put(box, index, NUMBER.sub("0", value) if isinstance(value, str) else 0)


def scale(mutant: Mutant) -> None:
    """Multiply one number by a power of ten."""
    box, index = scalar_place(mutant)
    value, factor = value_at(box, index), 10.0 ** mutant.rng.randint(-9, 9)
    if isinstance(value, str) and (match := NUMBER.search(value)):
        put(box, index, f"{value[: match.start()]}{float(match[0]) * factor:.12g}{value[match.end() :]}")
    elif isinstance(value, int | float):
        put(box, index, value * factor)


def other_unit(mutant: Mutant) -> None:
    """Make a figure another unit."""
    box, index = scalar_place(mutant)
    match = NUMBER.match(str(value_at(box, index)))
    put(box, index, f"{match[0] if match else 1} {mutant.rng.choice(UNITS)}".strip())


def misspell(mutant: Mutant) -> None:
    """Drop, double or swap a letter of a key, or change its case."""
    _, box, index = mutant.place()
    if not isinstance(box, Pairs):
        return
    key, value = box[index]
    text, at = str(key), mutant.rng.randrange(max(1, len(str(key))))
    forms = (text[:at] + text[at + 1 :], text[:at] + text[at : at + 1] + text[at:], text.upper(), f"{text}s")
    box[index] = (mutant.rng.choice(forms), value)


def strange_name(mutant: Mutant) -> None:
    """Write an odd name as a key or as a value."""
    _, box, index = mutant.place()
    name = mutant.rng.choice(NAMES)
    if isinstance(box, Pairs) and mutant.rng.random() < 0.5:
        box[index] = (name, box[index][1])
    else:
        put(box, index, name)


def rename(mutant: Mutant) -> None:
    """Make a thing an odd name, or another's, wherever it stands."""
    keys = [
        key
        for path, box in mutant.boxes()
        if isinstance(box, Pairs) and pattern(path)[-1:] != (ANY,)
        for key, _ in box
    ]
    if not keys:
        return
    old = mutant.rng.choice(keys)
    new = mutant.rng.choice(NAMES if mutant.rng.random() < 0.7 else keys)
    for _, box in mutant.boxes():
        for index, entry in enumerate(box):
            if isinstance(box, Pairs) and entry[0] == old:
                box[index] = (new, entry[1])
            if value_at(box, index) == old:
                put(box, index, new)


def empty(mutant: Mutant) -> None:
    """Empty a value, a section mostly."""
    boxes = [place for place in mutant.boxes() if len(place[0]) < 2]
    _, box = mutant.rng.choice(boxes) if boxes else ((), mutant.tree)
    if box:
        put(box, mutant.rng.randrange(len(box)), mutant.rng.choice((Pairs(), [], None, "")))


def graft(mutant: Mutant) -> None:
    """Add a key that may stand there, with a value that stood under it in some file."""
    boxes = [(path, box) for path, box in mutant.boxes() if isinstance(box, Pairs)]
    if not boxes:
        return
    path, box = mutant.rng.choice(boxes)
    donors = mutant.bases.donors.get(pattern(path), {})
    if donors:
        key = mutant.rng.choice(list(donors))
        entry = (key, copied(mutant.rng.choice(donors[key])))
        same = [index for index, (each, _) in enumerate(box) if each == key]
        if same:
            box[same[0]] = entry
        else:
            box.append(entry)


def exchange(mutant: Mutant) -> None:
    """Replace a value by one that stood under the same key in some file."""
    path, box, index = mutant.place()
    if isinstance(box, Pairs):
        found = mutant.bases.donors.get(pattern(path), {}).get(box[index][0])
        if found:
            put(box, index, copied(mutant.rng.choice(found)))


def foreign_key(mutant: Mutant) -> None:
    """Add a key of the schema where it may not belong."""
    _, box, index = mutant.place()
    if isinstance(box, Pairs):
        box.append((mutant.rng.choice(mutant.bases.keys), copied(value_at(box, index))))


def move(mutant: Mutant) -> None:
    """Move an entry into another container."""
    _, box, index = mutant.place()
    entry = copied_entry(box, index)
    del box[index]
    target = mutant.rng.choice([each for _, each in containers(mutant.tree)])
    key, value = entry if isinstance(box, Pairs) else (mutant.rng.choice(NAMES), entry)
    target.append((key, value) if isinstance(target, Pairs) else value)


def wrap(mutant: Mutant) -> None:
    """Put brackets round a value, or take them off."""
    _, box, index = mutant.place()
    value = value_at(box, index)
    if isinstance(value, list) and value and mutant.rng.random() < 0.5:
        put(box, index, value_at(value, 0))
    else:
        put(box, index, mutant.rng.choice(([value], Pairs([("a", value)]), [value] * 2)))


def stretch(mutant: Mutant) -> None:
    """Make a list as long as octaves, a day or a week, or nearly so."""
    _, box, index = mutant.place()
    value, count = value_at(box, index), mutant.rng.choice((7, 8, 9, 24, 168))
    first = value[0] if isinstance(value, list) and not isinstance(value, Pairs) and value else value
    put(box, index, [copied(first) for _ in range(count)])


def nest(mutant: Mutant) -> None:
    """Nest a value deeply."""
    _, box, index = mutant.place()
    value = value_at(box, index)
    for _ in range(mutant.rng.choice((3, 22, 26, 60))):
        value = [value] if mutant.rng.random() < 0.5 else Pairs([("a", value)])
    put(box, index, value)


OPERATORS: tuple[tuple[Callable[[Mutant], None], int], ...] = (
    (delete, 10), (duplicate, 4), (swap, 5), (retype, 10), (borrow, 8), (extreme, 10), (zero, 14),
    (scale, 10), (other_unit, 5), (misspell, 3), (strange_name, 4), (rename, 5), (empty, 6), (graft, 16),
    (exchange, 16), (foreign_key, 3), (move, 3), (wrap, 5), (stretch, 3), (nest, 1),
)  # fmt: skip
CHANGES = (1, 1, 1, 1, 2, 2, 3, 5)
"""How many operators a mutant meets, each equally likely."""


def mutate(mutant: Mutant) -> None:
    """Apply one or a few random operators."""
    operators = [operator for operator, _ in OPERATORS]
    weights = [weight for _, weight in OPERATORS]
    for operator in mutant.rng.choices(operators, weights, k=mutant.rng.choice(CHANGES)):
        operator(mutant)
