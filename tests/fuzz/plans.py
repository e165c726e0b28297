"""Mutates saved plans: values of another kind or place, parts left out or twice, figures no plan can have.

By hand: ``python -m tests.fuzz.plans --count 100000 --jobs 2``. What `verify` reads either is refused with
the file's name and the place, or is judged; what the judge passes is shown, put in order, quieted and
explained; what `plan --again` takes over is planned from. Only some mutants are solved: that takes longer.
"""

from __future__ import annotations

import json
import random
import re
import sys
import tempfile
from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar

from planner.cli.errors import RefusedError
from planner.cli.inputs import open_last_state, open_plan
from planner.domain.plan import Plan
from planner.domain.site import Site
from planner.domain.state import State
from planner.inventory import load_text
from planner.moves import Options as Timing
from planner.moves.tasks.progress import Progress
from planner.moves.tracking.arranging import arrange
from planner.moves.tracking.order_in_use import OrderInUse
from planner.placement.result import Options
from planner.placement.solve import solve
from planner.placement.studies.forced_assignment import forced
from planner.quieting import CannotQuietError, quieting
from planner.report.common.text import Line, line
from planner.report.plan import build as plan_page
from planner.report.plan import json_file, recomputed
from planner.report.plan import plain as plan_plain
from planner.report.plan import text as plan_text
from planner.report.verify import page as verify_page
from planner.report.why import page as why_page
from planner.verify import verify_plan, verify_state
from tests.cli.tiny import TINY
from tests.fuzz.campaign import arguments, main
from tests.inventory.base import EXAMPLES

NAME = "plan.json"
SOLVED_EACH = 40
"""Of so many mutants that are taken, one is planned from, quieted, put in order or explained."""

LIMIT_S = 0.3
NO_FIGURE = re.compile(r"\b(inf|nan|None|Infinity|NaN)\b")
NUMBERS = (0, -1, 1, 2.5, 1e9, -1e9, 1e308, 1e-300, 10**400, float("inf"), float("-inf"), float("nan"))
STRANGE: tuple[Any, ...] = (
    None, True, False, "", " ", "x", "alder", "\x00", "\ud800", "é" * 300, [], {}, [[]], [None], {"": None},
    "proven", "host", "summer", "change", "quiet-host-1",
)  # fmt: skip

Found = TypeVar("Found")
Spot = tuple[Any, Any]
"""A container of the data and the key or index of a value in it."""


@dataclass(frozen=True)
class Base:
    """A site and a saved plan of it, as data."""

    site: Site
    data: dict[str, Any]


@lru_cache(maxsize=1)
def bases() -> tuple[Base, ...]:
    """Plan some small sites."""
    texts = (
        TINY,
        *((EXAMPLES / f"{name}.yaml").read_text("utf-8") for name in ("small-office", "two-hosts")),
    )
    sites = [load_text(text, EXAMPLES / "base.yaml").site for text in texts]
    return tuple(Base(site, _saved(site)) for site in sites)


def _saved(site: Site) -> dict[str, Any]:
    plan = solve(site, Options(time_s=20.0)).plan
    assert plan is not None
    data: dict[str, Any] = json.loads(json.dumps(json_file.dump(site, plan)))
    return data


def spots(data: Any) -> Iterator[Spot]:
    """Walk all values of some data."""
    keys = list(data) if isinstance(data, dict) else range(len(data)) if isinstance(data, list) else ()
    for key in keys:
        yield data, key
        yield from spots(data[key])


def _spot(rng: random.Random, data: Any) -> Spot:
    """Draw a value, mostly one of those that are read again."""
    read = [key for key in ("state", "aims", "previous") if data.get(key)]
    part = data[rng.choice(read)] if read and rng.random() < 0.7 else data
    return rng.choice(list(spots(part)) or list(spots(data)))


def _strange(rng: random.Random, data: Any) -> None:
    box, key = _spot(rng, data)
    box[key] = deepcopy(rng.choice(STRANGE))


def _number(rng: random.Random, data: Any) -> None:
    numbers = [spot for spot in spots(data) if type(spot[0][spot[1]]) in (int, float)]
    box, key = rng.choice(numbers or [_spot(rng, data)])
    box[key] = rng.choice((*NUMBERS, -box[key], box[key] * 1.5)) if numbers else 0


def _swapped(rng: random.Random, data: Any) -> None:
    (one, at), (other, there) = _spot(rng, data), _spot(rng, data)
    one[at] = deepcopy(other[there])


def _left_out(rng: random.Random, data: Any) -> None:
    box, key = _spot(rng, data)
    del box[key]


def _twice(rng: random.Random, data: Any) -> None:
    lists = [box[key] for box, key in spots(data) if isinstance(box[key], list) and box[key]]
    if lists:
        items = rng.choice(lists)
        items.insert(rng.randrange(len(items) + 1), deepcopy(rng.choice(items)))


def _moved(rng: random.Random, data: Any) -> None:
    """Put a service on another machine, or on a second one."""
    state = data.get("state")
    machines = state.get("machines") if isinstance(state, dict) else None
    items = machines if isinstance(machines, list) else []
    full = [item for item in items if isinstance(item, dict) and isinstance(item.get("services"), list)]
    if len(full) > 1:
        source, target = rng.sample(full, 2)
        if source["services"]:
            name = rng.choice(source["services"])
            if rng.random() < 0.7:
                source["services"].remove(name)
            target["services"].append(name)


def _renamed(rng: random.Random, data: Any) -> None:
    """Make a text the value of another text."""
    texts = [spot for spot in spots(data.get("state")) if isinstance(spot[0][spot[1]], str)]
    if texts:
        (box, key), (other, there) = rng.choice(texts), rng.choice(texts)
        box[key] = other[there]


MUTATIONS: tuple[Callable[[random.Random, Any], None], ...] = (
    _strange, _number, _swapped, _left_out, _twice, _moved, _renamed,
)  # fmt: skip


def mutated(seed: int) -> tuple[Site, bytes]:
    """Make the mutant of a seed, with the site that it is a plan of."""
    rng = random.Random(seed)
    base = rng.choice(bases())
    data = deepcopy(base.data)
    for _ in range(rng.choice((1, 1, 1, 2, 4))):
        rng.choice(MUTATIONS)(rng, data)
    text = json.dumps(data)
    if rng.random() < 0.03:
        at = rng.randrange(len(text))
        text = rng.choice((text[:at], text[:at] + rng.choice('{}[],:"\\0e') + text[at + 1 :]))
    return base.site, text.encode()


def trial(seed: int) -> str:
    """Read, judge and use the mutant of a seed; whatever is raised is a fault."""
    site, raw = mutated(seed)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / NAME
        file.write_bytes(raw)
        start = _read(lambda: open_last_state(site, file))
        plan = _read(lambda: open_plan(site, file))
    if start is not None:
        _plan_from(site, start, seed)
    if plan is None:
        return "refused"
    breaches = verify_plan(site, plan)
    _look(verify_page.verify_lines(verify_page.verify_page("site.yaml", NAME, breaches)))
    _quiet(site, plan.state, seed)
    if breaches:
        return "broken"
    _use(site, plan, json.loads(raw), seed)
    return "holds"


def _read(read: Callable[[], Found]) -> Found | None:
    try:
        return read()
    except RefusedError as error:
        lines = error.lines
    assert all(text.startswith(NAME) for text in lines), lines
    return None


def _look(lines: list[Line]) -> None:
    """Hold that a page says no figure that is none."""
    for item in lines:
        words = "".join(piece.text for piece in item.pieces)
        assert not NO_FIGURE.search(words), words


def _plan_from(site: Site, start: State, seed: int) -> None:
    if seed % SOLVED_EACH == 0:
        result = solve(site, Options(time_s=LIMIT_S, start=start, previous=start))
        assert result.plan is None or not verify_plan(site, result.plan)


def _quiet(site: Site, state: State, seed: int) -> None:
    if seed % SOLVED_EACH == 1 and not verify_state(site, state):
        try:
            quieting(site, state, Options(time_s=LIMIT_S), solve=solve)
        except CannotQuietError as error:
            words = str(error)
            _look([line(words)])


def _use(site: Site, plan: Plan, data: Any, seed: int) -> None:
    """Show a plan that holds, and do with it what commands do."""
    page = plan_page.plan_page(site, plan)
    _look(plan_text.plan_lines(page))
    _look(plan_plain.plan_plain(page))
    assert all(item.where for item in recomputed.differences(site, plan, data))
    if seed % SOLVED_EACH == 2:
        course = OrderInUse(site, plan.state, Progress())
        found = arrange(course, Timing(time_s=LIMIT_S))
        assert not found.is_possible or not found.breaches
    if seed % SOLVED_EACH == 3:
        service = site.services[seed % len(site.services)].name
        why_page.why_page(
            site, plan, service, forced(site, plan, service, Options(time_s=LIMIT_S), solve=solve)
        )


def show(seed: int) -> None:
    """Print a mutant, and what becomes of it."""
    print(mutated(seed)[1].decode())
    print(trial(seed))


if __name__ == "__main__":
    asked = arguments((__doc__ or "").splitlines()[0])
    if asked.show:
        show(asked.seed)
    else:
        sys.exit(main(trial, asked))
