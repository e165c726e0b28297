"""The race: Stillroom against general ways to place services, in one run and on the same problems.

``python -m tests.benchmarks.placement [--set NAME ...] [--sizes 20,50] [--seconds 30] [--peers highs,cp-sat]
[--quick] [--json FILE]``. Sets are folders of published instances beside the checkout (``shared/bench``),
``recipes`` (instances made here by published recipes), ``sites`` (generated sites of ``--sizes`` services)
and ``re-used boxes`` (alike boxes with services on them, which may become hosts). On sites every side
minimises the mean watts over the same machines with the sound target and the heat limits held; cooling is
fixed for the peers as in Stillroom's answer. Every filling is judged by one judge. It asserts nothing.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from planner.domain.rules import Aim
from planner.placement.studies.packing_instance import site_of
from tests.benchmarks.generated import generated_site
from tests.benchmarks.peers import table
from tests.benchmarks.peers.race import Entry, Heat, race
from tests.benchmarks.peers.runner import SIDES, STILLROOM
from tests.benchmarks.peers.tasks import task_of
from tests.benchmarks.recipes import recipes
from tests.kit.alike_boxes import reuse_site

BENCH = Path(__file__).resolve().parents[3] / "shared" / "bench"
SIZES = (20, 50, 100, 200, 500, 1000, 2000)
SITE_SECONDS = {200: 60.0, 500: 120.0, 1000: 300.0, 2000: 300.0}
"""Seconds for sites from a size on, where ``--seconds`` gives less; not with ``--quick``."""

REUSED = ((20, 40), (80, 160), (150, 150), (150, 300))
"""Alike boxes that may be re-used, and services on them."""

QUICK = (
    "class3_60_3_0",
    "class1_60_5_0",
    "class6_60_5_0",
    "classC_60_5_0",
    "classF_120_3_0",
    "Falkenauer_t120_00",
    "bb_static_30_2",
    "bb_profile24_30_0",
)
QUICK_SIZES = (20, 100)
QUICK_SECONDS = 10.0


def main(arguments: list[str]) -> int:
    """Run the race that is asked for and print it as it goes; the summary comes last."""
    asked = _asked(arguments)
    heats: list[Heat] = []
    print(table.head())
    for entry in _entries(asked):
        heat = race(entry, asked.peers, asked.cores, asked.seed)
        heats.append(heat)
        print("\n".join(table.lines(heat)), flush=True)
        if asked.json is not None:
            asked.json.write_text(json.dumps([table.facts(each) for each in heats], indent=1) + "\n")
    if not heats:
        print("nothing matches: see --help for the sets", file=sys.stderr)
        return 2
    print("\n".join(table.summary(heats)))
    return 0


def _asked(arguments: list[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.placement", description=__doc__)
    parser.add_argument(
        "--set", action="append", help="a set's name, part of one, or an instance's; repeatable"
    )
    parser.add_argument("--sizes", type=_numbers, help="services of the generated sites")
    parser.add_argument("--seconds", type=float, help="limit for each side on each problem")
    parser.add_argument("--peers", type=_names, default=tuple(side for side in SIDES if side != STILLROOM))
    parser.add_argument("--most", type=int, default=100_000, help="leave out problems of more items")
    parser.add_argument("--cores", type=int, default=2, help="threads that a peer may use")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--quick", action="store_true", help="a few small problems, ten seconds each")
    parser.add_argument("--json", type=Path, help="write all figures to this file as well")
    asked = parser.parse_args(arguments)
    asked.sizes = asked.sizes or (QUICK_SIZES if asked.quick else SIZES)
    asked.limit = asked.seconds or (QUICK_SECONDS if asked.quick else 30.0)
    return asked


def _numbers(text: str) -> tuple[int, ...]:
    return tuple(int(part) for part in text.split(","))


def _names(text: str) -> tuple[str, ...]:
    names = tuple(part for part in text.split(",") if part and part != "none")
    unknown = sorted(set(names) - set(SIDES))
    if unknown:
        raise argparse.ArgumentTypeError(f"{', '.join(unknown)}: the sides are {', '.join(SIDES)}")
    return names


def _entries(asked: argparse.Namespace) -> Iterator[Entry]:
    for entry in (*_published(asked), *_recipes(asked), *_sites(asked), *_reused(asked)):
        named = asked.set is None or any(part in f"{entry.set}/{entry.name}" for part in asked.set)
        if named and entry.items <= asked.most:
            yield entry


def _published(asked: argparse.Namespace) -> Iterator[Entry]:
    if not BENCH.is_dir():
        print(f"published sets skipped: there is no folder {BENCH}")
        return
    for path in sorted(BENCH.glob("*/*.json")):
        if not asked.quick or path.stem in QUICK:
            instance = json.loads(path.read_text())
            best = instance["best_known"]
            known = float(best["value"])
            optimal = bool(best.get("optimal"))
            try:
                site, task = site_of(instance), task_of(instance)
            except ValueError as error:
                print(f"{path.parent.name}/{path.stem} left out: {error}")
                continue
            yield Entry(path.parent.name, path.stem, site, asked.limit, task, known, optimal)


def _recipes(asked: argparse.Namespace) -> Iterator[Entry]:
    for recipe in recipes(asked.quick, asked.seed):
        best, name = recipe.instance.get("best_known"), str(recipe.instance["name"])
        known = None if best is None else float(best["value"])
        site, task = site_of(recipe.instance), task_of(recipe.instance)
        yield Entry(recipe.set, name, site, asked.limit, task, known, known is not None)


def _sites(asked: argparse.Namespace) -> Iterator[Entry]:
    for size in asked.sizes:
        least = 0.0 if asked.quick else max((s for n, s in SITE_SECONDS.items() if n <= size), default=0.0)
        site = generated_site(size, asked.seed)
        yield Entry("sites", f"site of {size}", site, asked.seconds or max(asked.limit, least))


def _reused(asked: argparse.Namespace) -> Iterator[Entry]:
    for boxes, services in REUSED[:1] if asked.quick else REUSED:
        site = reuse_site(boxes, services, asked.seed, circuits=1)
        site = replace(site, policy=replace(site.policy, aims=(Aim.SOUND, Aim.POWER)))
        yield Entry("re-used boxes", f"{boxes} boxes, {services} services", site, asked.limit)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
