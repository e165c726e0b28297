"""Checks that every name used in a file stands for something in it.

Works on the plain data, so that unknown names are reported together with mistakes of form.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from planner.domain.hazards import TEXTS
from planner.domain.measures import ROOM
from planner.inventory.text.errors import Path, Problem, show
from planner.inventory.text.nearest import suggestion
from planner.inventory.text.yaml_tree import Tree

EVERY = "*"
KEYS = "<keys>"
MOST_LISTED = 12
SEASONS_DEFAULT = ("summer", "winter")


@dataclass(frozen=True)
class Reference:
    """Where names are used, and in which sections they must stand."""

    pattern: tuple[str, ...]
    sections: tuple[str, ...]
    word: str


REFERENCES = (
    Reference(("boxes", EVERY, "circuit"), ("circuits",), "circuit"),
    Reference(("gear", EVERY, "circuit"), ("circuits",), "circuit"),
    Reference(("cooling", EVERY, "circuit"), ("circuits",), "circuit"),
    Reference(("cooling", EVERY, "works_in", EVERY), ("seasons",), "season"),
    Reference(("cooling", EVERY, "runs_today", EVERY), ("seasons",), "season"),
    Reference(("cooling", EVERY, "air", KEYS), ("seasons",), "season"),
    Reference(("cooling", EVERY, "requires", EVERY), ("measures", "cooling"), "measure or cooling option"),
    Reference(("cooling", EVERY, "excludes", EVERY), ("measures", "cooling"), "measure or cooling option"),
    Reference(("cooling", EVERY, "cautions", EVERY), ("cautions",), "caution"),
    Reference(("services", EVERY, "box"), ("boxes",), "box"),
    Reference(("services", EVERY, "stay_on"), ("boxes",), "box"),
    Reference(("services", EVERY, "depends_on", EVERY), ("services",), "service"),
    Reference(("rules", EVERY, EVERY, "services", EVERY), ("services",), "service"),
    Reference(
        ("measures", EVERY, "target"), ("boxes", "gear", "cooling", ROOM), "box, gear or cooling option"
    ),
    Reference(("measures", EVERY, "elements", KEYS), ("elements",), "part of a partition"),
    Reference(("measures", EVERY, "requires", EVERY), ("measures", "cooling"), "measure or cooling option"),
    Reference(("measures", EVERY, "excludes", EVERY), ("measures", "cooling"), "measure or cooling option"),
    Reference(("measures", EVERY, "cautions", EVERY), ("cautions",), "caution"),
    Reference(("measures", EVERY, "part"), ("elements",), "part of a partition"),
    Reference(("readings", KEYS), ("listeners",), "listener"),
)


def check_references(tree: Tree) -> list[Problem]:
    """List a problem for every name that stands for nothing, with the nearest name there is."""
    known = _known(tree.data)
    problems = []
    for reference in REFERENCES:
        names = [name for section in reference.sections for name in known[section]]
        for path, name in uses(tree.data, reference.pattern):
            if not isinstance(name, str | int | float) or isinstance(name, bool) or str(name) in names:
                continue
            problems.append(
                tree.problem(path, f"there is no {reference.word} {show(name)}.", _nearest(name, names))
            )
    return problems


def _nearest(name: object, names: list[str]) -> str:
    shown = [show(each) for each in names]
    there_are = f"There are: {', '.join(shown[:MOST_LISTED])}." if names else ""
    return suggestion(show(name), shown) or there_are


def _known(data: Any) -> dict[str, list[str]]:
    known = {
        section: list(_section(data, section))
        for section in ("boxes", "gear", "cooling", "services", "measures", "seasons", "listeners")
    }
    known["seasons"] = known["seasons"] or list(SEASONS_DEFAULT)
    known["circuits"] = list(_section(_section(data, "supply"), "circuits"))
    known["elements"] = [
        element
        for listener in _section(data, "listeners").values()
        for element in _section(_section(listener, "behind"), "elements")
    ]
    known["cautions"] = list(TEXTS)
    known[ROOM] = [ROOM]
    return known


def _section(data: Any, name: str) -> dict[str, Any]:
    section = data.get(name) if isinstance(data, dict) else None
    return section if isinstance(section, dict) else {}


def uses(data: Any, pattern: tuple[str, ...], path: Path = ()) -> Iterator[tuple[Path, Any]]:
    """List the place and the name of every use of a name that fits a pattern."""
    if not pattern:
        yield path, data
        return
    first, rest = pattern[0], pattern[1:]
    if first == KEYS and isinstance(data, dict):
        yield from (((*path, key), key) for key in data)
    elif first == EVERY and isinstance(data, dict | list):
        items: Any = data.items() if isinstance(data, dict) else enumerate(data)
        for key, value in items:
            yield from uses(value, rest, (*path, key))
    elif isinstance(data, dict) and first in data and data[first] is not None:
        yield from uses(data[first], rest, (*path, first))
