"""Runs a fuzzer over many seeds: counts outcomes, groups crashes by place, in one process or several.

Each mutant has its own seed. A run prints its rate, crashes grouped by place, and their seeds, and ends
with 1 where something crashed. The tests run some thousands of the same mutants each time. A crash that is
mended becomes a case of its own beside the reader's tests (as in
``tests/inventory/checks/test_impossible_figures.py``): a seed means another mutant once operators change.
"""

from __future__ import annotations

import argparse
import contextlib
import gc
import multiprocessing
import sys
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
CHUNK = 500
SEEDS_TOLD = 8
Trial = Callable[[int], str]
"""Runs the mutant of a seed and gives a word for how it ended; what it raises is a crash."""


@dataclass(frozen=True)
class Crash:
    """A mutant neither taken nor refused: its seed, where it ended, and the words of the exception."""

    seed: int
    place: str
    words: str


@dataclass
class Tally:
    """Outcomes counted by word, all crashes, and the slowest mutant with its seconds."""

    counts: Counter[str] = field(default_factory=Counter)
    crashes: list[Crash] = field(default_factory=list)
    slowest: tuple[float, int] = (0.0, -1)

    def add(self, other: Tally) -> None:
        """Add the outcomes of another run."""
        self.counts += other.counts
        self.crashes += other.crashes
        self.slowest = max(self.slowest, other.slowest)

    @property
    def total(self) -> int:
        """How many mutants were run."""
        return self.counts.total()


def place_of(error: BaseException) -> str:
    """Compute where an exception left our own code: its type, file, line and function."""
    ours = [
        frame for frame in traceback.extract_tb(error.__traceback__) if frame.filename.startswith(f"{ROOT}/")
    ]
    if not ours:
        return type(error).__name__
    last = ours[-1]
    return f"{type(error).__name__} in {Path(last.filename).relative_to(ROOT)}:{last.lineno} {last.name}"


def run(trial: Trial, seeds: Sequence[int]) -> Tally:
    """Run the mutants of some seeds in this process."""
    tally = Tally()
    # What is there by now lives as long as the process: the collector need not look at it again.
    gc.freeze()
    for seed in seeds:
        begun = time.perf_counter()
        try:
            outcome = trial(seed)
        except Exception as error:
            outcome = "crash"
            tally.crashes.append(Crash(seed, place_of(error), str(error)[:200]))
        tally.counts[outcome] += 1
        tally.slowest = max(tally.slowest, (time.perf_counter() - begun, seed))
    return tally


def _tallies(trial: Trial, seeds: Sequence[int], jobs: int) -> Iterator[Tally]:
    chunks = [(trial, seeds[start : start + CHUNK]) for start in range(0, len(seeds), CHUNK)]
    if jobs == 1:
        yield from (run(*chunk) for chunk in chunks)
        return
    with multiprocessing.get_context("spawn").Pool(jobs) as pool:
        yield from pool.imap_unordered(_run_chunk, chunks)


def _run_chunk(chunk: tuple[Trial, Sequence[int]]) -> Tally:
    return run(*chunk)


def report(tally: Tally, seconds: float) -> Iterator[str]:
    """Write a tally as lines: counts, rate, then crashes grouped by place with the seeds that show them."""
    counted = ", ".join(f"{count} {word}" for word, count in sorted(tally.counts.items()))
    yield (
        f"{tally.total} mutants: {counted}, 0 crashes"
        if not tally.crashes
        else f"{tally.total} mutants: {counted}"
    )
    longest, seed = tally.slowest
    yield f"{tally.total / max(seconds, 1e-9):.0f} a second; the slowest took {longest:.2f} s (--seed {seed})"
    groups: dict[str, list[Crash]] = {}
    for crash in tally.crashes:
        groups.setdefault(crash.place, []).append(crash)
    for place, found in sorted(groups.items(), key=lambda group: -len(group[1])):
        seeds = " ".join(str(crash.seed) for crash in found[:SEEDS_TOLD])
        yield f"{len(found)} x {place}: {found[0].words!r}"
        yield f"    seeds {seeds}"


def arguments(what: str) -> argparse.Namespace:
    """Read the options that every fuzzer has."""
    parser = argparse.ArgumentParser(description=what)
    parser.add_argument("--count", type=int, default=1000, help="how many mutants")
    parser.add_argument("--seed", type=int, default=0, help="seed of the first; the next has the next number")
    parser.add_argument("--jobs", type=int, default=1, help="processes")
    parser.add_argument("--tell", type=int, default=0, help="tell the counts after every so many mutants")
    parser.add_argument(
        "--show", action="store_true", help="print the mutant of --seed, and what becomes of it"
    )
    return parser.parse_args()


def main(trial: Trial, options: argparse.Namespace) -> int:
    """Run a campaign and print its report; 1 where something crashed."""
    begun, tally = time.perf_counter(), Tally()
    seeds = range(options.seed, options.seed + options.count)
    with contextlib.suppress(KeyboardInterrupt):
        for part in _tallies(trial, seeds, options.jobs):
            before = tally.total
            tally.add(part)
            if options.tell and before // options.tell < tally.total // options.tell:
                print(f"{tally.total} mutants, {len(tally.crashes)} crashes", file=sys.stderr, flush=True)
    for text in report(tally, time.perf_counter() - begun):
        print(text, flush=True)
    return 1 if tally.crashes else 0
