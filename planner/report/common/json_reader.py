"""Reads JSON data that a person may have changed, and says what is wrong with it and where."""

from __future__ import annotations

import difflib
import math
from collections.abc import Collection, Iterator
from typing import Any

INFINITE = "this is no finite number; make the file again, or put the number right"


class PlanFileError(Exception):
    """A plan file cannot be used; ``where`` is the path of the value in it."""

    def __init__(self, where: str, message: str) -> None:
        super().__init__(f"{where}: {message}" if where else message)
        self.where = where
        self.message = message


class UnknownNameError(PlanFileError):
    """A plan file names something that the site does not have."""


class Reader:
    """One JSON object, with the path that leads to it."""

    def __init__(self, data: object, where: str) -> None:
        if not isinstance(data, dict):
            raise PlanFileError(where, f"expected an object, found {_sort(data)}")
        self._data: dict[str, Any] = data
        self._where = where

    def path(self, key: str) -> str:
        """Give the path of a key."""
        return f"{self._where}.{key}" if self._where else key

    def raw(self, key: str) -> Any:
        """Give a value as it is."""
        if key not in self._data:
            raise PlanFileError(self.path(key), "this is missing")
        return self._data[key]

    def has(self, key: str) -> bool:
        """Say whether there is a value; one that is null is none."""
        return self._data.get(key) is not None

    def text(self, key: str) -> str:
        """Give a text."""
        value = self.raw(key)
        if not isinstance(value, str):
            raise PlanFileError(self.path(key), f"expected a text, found {_sort(value)}")
        return value

    def flag(self, key: str) -> bool:
        """Give true or false."""
        value = self.raw(key)
        if not isinstance(value, bool):
            raise PlanFileError(self.path(key), f"expected true or false, found {_sort(value)}")
        return value

    def whole(self, key: str) -> int:
        """Give a whole number."""
        value = self.raw(key)
        if not isinstance(value, int) or isinstance(value, bool):
            raise PlanFileError(self.path(key), f"expected a whole number, found {_sort(value)}")
        return value

    def figure(self, key: str) -> float | None:
        """Give a finite number, None where the file has null."""
        value = self.raw(key)
        if value is None:
            return None
        if not isinstance(value, int | float) or isinstance(value, bool):
            raise PlanFileError(self.path(key), f"expected a number, found {_sort(value)}")
        if not _is_finite(value):
            raise PlanFileError(self.path(key), INFINITE)
        return float(value)

    def number(self, key: str) -> float:
        """Look up a finite number that must be there."""
        value = self.figure(key)
        if value is None:
            raise PlanFileError(self.path(key), "expected a number, found null")
        return value

    def one_of(self, key: str, choices: tuple[str, ...]) -> str:
        """Give a text that is one of a few."""
        value = self.text(key)
        if value not in choices:
            raise PlanFileError(self.path(key), f"{value!r} is none of {', '.join(choices)}")
        return value

    def inside(self, key: str) -> Reader:
        """Give the object under a key."""
        return Reader(self.raw(key), self.path(key))

    def items(self, key: str) -> Iterator[Reader]:
        """Give the objects of a list."""
        for index, value in enumerate(self._list(key)):
            yield Reader(value, f"{self.path(key)}[{index}]")

    def keys(
        self, known: Collection[str], sort: str, dropped: list[UnknownNameError] | None = None
    ) -> Iterator[str]:
        """Look up the object's keys, each the name of something known; others are ``dropped`` where given."""
        for key in self._data:
            yield from _if_known(key, known, sort, self.path(key), dropped)

    def name(self, key: str, known: Collection[str], sort: str) -> str:
        """Give the name of something that the site has."""
        return _known(self.text(key), known, sort, self.path(key))

    def optional_name(self, key: str, known: Collection[str], sort: str) -> str | None:
        """Give the name of something that the site has, or None."""
        return None if self.raw(key) is None else self.name(key, known, sort)

    def names(
        self, key: str, known: Collection[str], sort: str, dropped: list[UnknownNameError] | None = None
    ) -> Iterator[str]:
        """Look up a list of names of things that the site has; others are ``dropped`` where given."""
        for index, value in enumerate(self._list(key)):
            where = f"{self.path(key)}[{index}]"
            if not isinstance(value, str):
                raise PlanFileError(where, f"expected a name, found {_sort(value)}")
            yield from _if_known(value, known, sort, where, dropped)

    def texts(self, key: str) -> Iterator[str]:
        """Give a list of texts."""
        for index, value in enumerate(self._list(key)):
            if not isinstance(value, str):
                raise PlanFileError(f"{self.path(key)}[{index}]", f"expected a text, found {_sort(value)}")
            yield value

    def pairs(self, key: str, what: str) -> Iterator[tuple[str, str]]:
        """Look up pairs of texts; ``what`` says what they are."""
        for index, value in enumerate(self._list(key)):
            if not isinstance(value, list) or len(value) != 2 or not all(isinstance(x, str) for x in value):
                raise PlanFileError(f"{self.path(key)}[{index}]", f"expected {what}, such as ['a', 'b']")
            yield value[0], value[1]

    def levels(self, key: str, known: Collection[str]) -> Iterator[tuple[str, float]]:
        """Give pairs of a listener and a level in dBA, without those that are null."""
        for index, value in enumerate(self._list(key)):
            where = f"{self.path(key)}[{index}]"
            if not isinstance(value, list) or len(value) != 2 or not isinstance(value[0], str):
                raise PlanFileError(where, "expected a listener and a level, such as ['desk', 41.5]")
            pair = Reader({"name": value[0], "level": value[1]}, where)
            level_dba = pair.figure("level")
            if level_dba is not None:
                yield pair.name("name", known, "listener"), level_dba

    def _list(self, key: str) -> list[Any]:
        value = self.raw(key)
        if not isinstance(value, list):
            raise PlanFileError(self.path(key), f"expected a list, found {_sort(value)}")
        return value


def refuse_infinite(data: object) -> None:
    """Search some data for a number that is none, or past all measure; PlanFileError gives its place."""
    left: list[tuple[str, object]] = [("", data)]
    while left:
        where, value = left.pop()
        if isinstance(value, dict):
            left += [(f"{where}.{key}" if where else str(key), item) for key, item in value.items()]
        elif isinstance(value, list):
            left += [(f"{where}[{index}]", item) for index, item in enumerate(value)]
        elif isinstance(value, int | float) and not _is_finite(value):
            raise PlanFileError(where, INFINITE)


def _is_finite(value: float) -> bool:
    try:
        return math.isfinite(value)
    except OverflowError:
        return False


def _if_known(
    name: str, known: Collection[str], sort: str, where: str, dropped: list[UnknownNameError] | None
) -> Iterator[str]:
    try:
        yield _known(name, known, sort, where)
    except UnknownNameError as error:
        if dropped is None:
            raise
        dropped.append(error)


def _known(name: str, known: Collection[str], sort: str, where: str) -> str:
    if name in known:
        return name
    near = difflib.get_close_matches(name, list(known), 1)
    hint = f"; did you mean {near[0]!r}?" if near else ""
    raise UnknownNameError(where, f"the inventory has no {sort} called {name!r}{hint}")


def _sort(value: object) -> str:
    names = {type(None): "null", bool: "true or false", str: "a text", list: "a list", dict: "an object"}
    return names.get(type(value), "a number")
