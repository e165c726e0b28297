"""Random inventories, as text, tightened until no plan can exist."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import yaml

from planner.domain.plan import Outcome
from planner.domain.site import Site
from planner.inventory import InventoryError, load_text
from planner.placement.result import Options, Result
from planner.placement.solve import solve
from tests.fuzz.site_data import Data, random_inventory

FILE = "site.yaml"
OPTIONS = Options(time_s=20.0)


@dataclass(frozen=True)
class Case:
    """An inventory without a plan: its text, its site, and what was found."""

    seed: int
    text: str
    site: Site
    result: Result


def cases(seeds: range) -> Iterator[Case]:
    """Make the cases among some seeds: those that load and have no plan."""
    for seed in seeds:
        rng, data = random.Random(seed), random_inventory(seed)
        for tighten in rng.sample(TIGHTENINGS, rng.randint(1, 2)):
            tighten(rng, data)
        text = yaml.safe_dump(data, sort_keys=False)
        try:
            site = load_text(text, Path(FILE)).site
        except InventoryError:
            continue
        result = solve(site, OPTIONS)
        if result.outcome is Outcome.INFEASIBLE:
            yield Case(seed, text, site, result)


def _policy(data: Data) -> Data:
    policy: Data = data.setdefault("policy", {})
    return policy


def _outgrown(data: Data, up_to: int) -> None:
    """Let services outgrow their boxes, and one kind carry one of them a unit."""
    for service in data["services"].values():
        service["memory"] = "60 GiB"
    for box in data["boxes"].values():
        box["memory"] = "16 GiB"
    kind: Data = {"role": "host", "cores": 32, "memory": "96 GiB", "disk": "9 TB", "iops": 90000}
    data["catalogue"] = {"budget": {**kind, "power": {"idle": "30 W"}, "price": 500, "up_to": up_to}}


def _poor(_: random.Random, data: Data) -> None:
    _outgrown(data, 9)
    _policy(data)["budget"] = 600


def _spare(rng: random.Random, data: Data) -> None:
    _outgrown(data, len(data["services"]))
    _policy(data)["spare_hosts"] = rng.randint(1, 2)


def _low_rack(_: random.Random, data: Data) -> None:
    data["room"]["rack_units"] = 1
    for machine in (*data["boxes"].values(), *data.get("catalogue", {}).values()):
        machine["rack_units"] = 2


def _weak_circuit(_: random.Random, data: Data) -> None:
    for circuit in data["supply"]["circuits"].values():
        circuit |= {"breaker": "1 A", "share": 0.1}


def _hungry(rng: random.Random, data: Data) -> None:
    key, much = rng.choice([("memory", "3 TiB"), ("disk", "90 TB"), ("iops", "90000 IOPS")])
    for service in rng.sample(sorted(data["services"]), rng.randint(1, len(data["services"]))):
        data["services"][service][key] = much


def _apart(_: random.Random, data: Data) -> None:
    names = sorted(data["services"])
    if len(names) > 1:
        apart = {"services": names, "because": "one fault must not take both"}
        data.setdefault("rules", {})["apart"] = [apart]
        data["catalogue"] = {}


def _hot(_: random.Random, data: Data) -> None:
    data["room"]["heat_loss"] = "1 W/K"
    data["room"].pop("leak", None)
    _policy(data)["inlet_limit"] = "22 C"


TIGHTENINGS = [_poor, _spare, _low_rack, _weak_circuit, _hungry, _apart, _hot]
