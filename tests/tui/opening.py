"""``python -m tests.tui.opening FILE``: the processor time until a file is in sight, imports and all.

Prints two numbers of seconds: until the first rows are drawn, and what the usual reader takes for the text,
the least of three, which measures the processor.
"""

from __future__ import annotations

import asyncio
import sys
import time
from pathlib import Path

import planner.cli.commands.edit  # noqa: F401  the command loads it, so it counts
from planner.domain.plan import Plan
from planner.domain.site import Site
from tests.tui.screens import never_why
from tests.tui.unit import unit_s
from tui.app import Stillroom
from tui.session import Session


class Clock:
    """Stands where the solver does: planning begins once the first rows are drawn."""

    def __init__(self) -> None:
        self.called_s: float | None = None

    def __call__(self, *given: object, **named: object) -> None:
        """Note the processor time that this process has taken."""
        del given, named
        self.called_s = self.called_s or time.process_time()
        raise RuntimeError("there is no solver here")


def no_work(site: Site, plan: Plan) -> None:
    """Stand where the ordering of moves does; never called, for there is no plan."""
    del site, plan


async def main(path: Path) -> None:
    """Open the file, and print how long it took."""
    clock = Clock()
    app = Stillroom(Session.open(path), clock, no_work, never_why)  # type: ignore[arg-type]
    async with app.run_test(size=(100, 30)) as pilot:
        while clock.called_s is None:
            await pilot.pause(0.01)
    print(clock.called_s, unit_s(path.read_text(encoding="utf-8")))


if __name__ == "__main__":
    asyncio.run(main(Path(sys.argv[1])))
