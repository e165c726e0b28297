"""The constraint solver's best plans, from a process of its own.

Its package and highspy each bring a library of the same name, so that one process cannot hold both.
"""

from __future__ import annotations

import pickle
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.domain.state import State

ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Found:
    """A state and its values by the ledger, both empty when no plan can exist; or why that is not sure."""

    state: State | None
    values: dict[Aim, float]
    unsure: str = ""


def best_of(sites: Sequence[Site]) -> list[Found]:
    """List the constraint solver's best plan of each site, in the site's own order of aims."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.oracles.cpsat"],
        input=pickle.dumps(list(sites)),
        stdout=subprocess.PIPE,
        cwd=ROOT,
        check=True,
    )
    found: list[Found] = pickle.loads(done.stdout)
    return found
