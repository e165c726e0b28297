"""What runs in a peer's process: read the job, tell each better answer as it comes, tell the last one.

A job comes pickled on standard input; answers go out as lines of JSON. The clock starts when the job is
read, so that starting Python and loading libraries counts for nobody and writing the model down does.
"""

from __future__ import annotations

import json
import math
import os
import pickle
import resource
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, TextIO

from planner.domain.site import Site
from tests.benchmarks.peers.task import Filling, Task

MOST_MEMORY = 6 * 1024**3
"""Bytes of address space that a side may have."""


@dataclass(frozen=True)
class Job:
    """What a side is to do: a task, or for our own side a site, seconds, cores, seed.

    ``easier``: the task with more cooling, for a side that cannot choose it and may need it.
    """

    task: Task | None
    site: Site | None
    seconds: float
    cores: int = 2
    seed: int = 0
    easier: tuple[Task, ...] = ()


@dataclass
class Teller:
    """The way back: answers with the seconds at which they were found."""

    out: TextIO
    began: float = field(default_factory=time.monotonic)

    @property
    def seconds(self) -> float:
        """Seconds since the job was read."""
        return time.monotonic() - self.began

    def better(self, objective: float | None, bound: float | None) -> None:
        """Tell that a better answer or bound was found."""
        self._write({"objective": _finite(objective), "bound": _finite(bound)})

    def last(self, proven: bool, bound: float | None, filling: Filling | None = None, **more: Any) -> None:
        """Tell the last answer."""
        self._write({"proven": proven, "bound": _finite(bound), "filling": filling, "last": True, **more})

    def skip(self, reason: str) -> None:
        """Tell that this side cannot take part."""
        self._write({"skipped": reason, "last": True})

    def _write(self, facts: dict[str, Any]) -> None:
        self.out.write(json.dumps({"seconds": self.seconds, **facts}) + "\n")
        self.out.flush()


def _finite(value: float | None) -> float | None:
    return value if value is not None and math.isfinite(value) and abs(value) < 1e15 else None


def limit_memory() -> None:
    """Make this process, and those it starts, no more than a side may take."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))


def serve(side: Callable[[Job, Teller], None]) -> None:
    """Run a side on the job on standard input; what its libraries print goes nowhere."""
    limit_memory()
    job: Job = pickle.load(sys.stdin.buffer)
    out = os.fdopen(os.dup(1), "w")
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    teller = Teller(out)
    try:
        side(job, teller)
    except MemoryError:
        teller.skip(f"more than {MOST_MEMORY / 1024**3:.0f} GiB of memory")
