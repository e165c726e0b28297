"""Runs a fuzzer over a row of seeds and prints what each fault was found with."""

from __future__ import annotations

import argparse
import time
import traceback
from collections import Counter
from collections.abc import Callable
from enum import StrEnum


class Outcome(StrEnum):
    """What became of a mutated file: taken as good, or refused with words."""

    TAKEN = "taken"
    REFUSED = "refused"


RunOne = Callable[[int], Outcome]


def faults(run_one: RunOne, first: int, count: int) -> tuple[Counter[Outcome], dict[int, str]]:
    """Run ``count`` seeds from ``first`` on; count the outcomes, and give what went wrong by seed."""
    outcomes, wrong = Counter[Outcome](), dict[int, str]()
    for seed in range(first, first + count):
        try:
            outcomes[run_one(seed)] += 1
        except Exception:
            wrong[seed] = traceback.format_exc()
    return outcomes, wrong


def main(run_one: RunOne, about: str) -> None:
    """Run a fuzzer from the command line; exit code 1 where anything went wrong."""
    parser = argparse.ArgumentParser(description=about.splitlines()[0])
    parser.add_argument("--count", type=int, default=1000, help="how many mutated files")
    parser.add_argument("--seed", type=int, default=0, help="the first seed")
    asked = parser.parse_args()
    began = time.monotonic()
    outcomes, wrong = faults(run_one, asked.seed, asked.count)
    for seed, words in wrong.items():
        print(f"seed {seed}:\n{words}")
    told = ", ".join(f"{outcome} {count}" for outcome, count in sorted(outcomes.items()))
    print(f"{asked.count} files from seed {asked.seed}: {told}; wrong {len(wrong)}")
    print(f"{time.monotonic() - began:.0f} s")
    raise SystemExit(1 if wrong else 0)
