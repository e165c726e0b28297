"""What the page of a plan file should say: each figure computed anew from the site, and compared."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from planner.domain.plan import Plan
from planner.domain.site import Site
from planner.report.common.json_data import data_of
from planner.report.plan.build import plan_page

SOLVED = ("peaks", "alternatives")
"""Parts of a plan file that only a solve could give again."""

SLACK = 1e-9
MOST = 80
"""Characters of a value that are shown."""

Scalar = str | float | bool | None


@dataclass(frozen=True)
class Difference:
    """A figure or word of the page that the file states otherwise; ``of``: what it is a figure of.

    None for ``stated``: the file has none; None for ``recomputed``: there is none.
    """

    where: str
    of: str
    stated: Scalar
    recomputed: Scalar
    message: str


def differences(site: Site, plan: Plan, data: Mapping[str, Any]) -> tuple[Difference, ...]:
    """Compute the page of a plan that keeps all rules, and find what a file's data states otherwise."""
    fresh = data_of(plan_page(site, plan))
    found = [*_compared("site", "", data.get("site"), site.name)]
    return (*found, *_compared("page", "", data.get("page"), fresh))


def not_recomputed(data: Mapping[str, Any]) -> tuple[str, ...]:
    """Look up the parts of a file's data that need a solver to be computed again."""
    return tuple(name for name in SOLVED if data.get(name) is not None)


def _compared(where: str, of: str, stated: Any, fresh: Any) -> Iterator[Difference]:
    if isinstance(fresh, dict) and isinstance(stated, dict):
        of = _named(fresh) or of
        for key in dict.fromkeys([*fresh, *stated]):
            if key not in fresh:
                yield _differing(f"{where}.{key}", of, stated[key], None, "the page has no such figure")
            elif key not in stated:
                yield _differing(
                    f"{where}.{key}", of, None, fresh[key], f"left out; it is {_written(fresh[key])}"
                )
            else:
                yield from _compared(f"{where}.{key}", of, stated[key], fresh[key])
    elif isinstance(fresh, list) and isinstance(stated, list):
        yield from _listed(where, of, stated, fresh)
    elif not _is_same(stated, fresh):
        yield _differing(where, of, stated, fresh, f"said to be {_written(stated)}; it is {_written(fresh)}")


def _listed(where: str, of: str, stated: Sequence[Any], fresh: Sequence[Any]) -> Iterator[Difference]:
    for index in range(max(len(stated), len(fresh))):
        place = f"{where}[{index}]"
        if index >= len(fresh):
            words = f"said to be {_written(stated[index])}; there is no such entry"
            yield _differing(place, of, stated[index], None, words)
        elif index >= len(stated):
            yield _differing(place, of, None, fresh[index], f"left out; it is {_written(fresh[index])}")
        else:
            yield from _compared(place, of, stated[index], fresh[index])


def _named(entry: Mapping[str, Any]) -> str:
    """Look up what an entry of the page is about: its first value where that is a text, and whose it is."""
    first = next(iter(entry.values()), None)
    whose = entry.get("of")
    names = [name for name in (first, whose if whose is not first else None) if isinstance(name, str)]
    return ", ".join(names)


def _is_same(stated: Any, fresh: Any) -> bool:
    """Say whether two values agree, figures to one step of the last decimal that either is written with."""
    if _is_number(stated) and _is_number(fresh):
        digits = max(_decimals(stated), _decimals(fresh))
        return bool(abs(stated - fresh) <= (10.0**-digits if digits else 0.0) + SLACK * abs(fresh))
    return type(stated) is type(fresh) and bool(stated == fresh)


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _decimals(value: float) -> int:
    """Count the decimals a figure is written with; a whole count has none and is compared exactly."""
    if isinstance(value, int):
        return 0
    return len(repr(value).partition("e")[0].partition(".")[2])


def _differing(where: str, of: str, stated: Any, fresh: Any, message: str) -> Difference:
    return Difference(where, of, _scalar(stated), _scalar(fresh), message)


def _scalar(value: Any) -> Scalar:
    return value if value is None or isinstance(value, str | int | float | bool) else _written(value)


def _written(value: Any) -> str:
    """Write a value as JSON has it, a long one shortened."""
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= MOST else f"{text[: MOST - 1]}…"
