"""How quick the interface is: ``python -m tests.tui.bench`` prints times; no test asserts them.

For 1,000 services: from the file to the screen, and the longest piece of work during which no key is
answered, for moving, filtering, sorting, editing. For 200 services: the same while the real solver works
in its own process.
"""

from __future__ import annotations

import asyncio
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from textual.pilot import Pilot

from tests.tui.screens import never_why, no_waves, stand_in
from tests.tui.sizes import many
from tui.app import Stillroom
from tui.session import Session
from tui.solving.processes import ApartAfterworker, ApartSolver, ApartWhy

BEAT_S = 0.002
ACTIONS: Sequence[tuple[str, Sequence[str]]] = (
    ("move down 20 rows", ["down"] * 20),
    ("page down 5 times", ["pagedown"] * 5),
    ("filter, 4 letters", ["slash", "a", "-", "7", "7", "escape"]),
    ("sort by a column", ["o"]),
    ("mark 3 rows", ["space"] * 3),
    ("go to plan and back", ["4", "2"]),
    ("open a form, leave it", ["e", "escape"]),
    ("make a service physical", ["p", "x", "enter"]),
    ("undo", ["u"]),
)


class Watch:
    """Feels the pulse of the event loop: how long it worked in one piece, so that no key was answered.

    Counted in this thread's own time, so that other work on the machine does not matter.
    """

    def __init__(self) -> None:
        self.longest_s = 0.0

    async def run(self) -> None:
        """Beat until cancelled."""
        while True:
            before = time.thread_time()
            await asyncio.sleep(BEAT_S)
            self.longest_s = max(self.longest_s, time.thread_time() - before)


async def act(pilot: Pilot[None], title: str, keys: Sequence[str]) -> None:
    """Do something and print how long it took and how long the loop worked in one piece."""
    watch = Watch()
    beat = asyncio.create_task(watch.run())
    began = time.perf_counter()
    for key in keys:
        await pilot.press(key)
    took = time.perf_counter() - began
    beat.cancel()
    print(f"  {title:28} {took:6.2f} s, in one piece {1000 * watch.longest_s:4.0f} ms at most")


def app_for(path: Path, apart: bool) -> Stillroom:
    """Make the interface with the real workers, or with quick stand-ins."""
    if apart:
        return Stillroom(Session.open(path), ApartSolver(), ApartAfterworker(), ApartWhy())
    return Stillroom(Session.open(path), stand_in, no_waves, never_why)


async def measure(path: Path, count: int, apart: bool) -> None:
    """Open a file of so many services and do everything once."""
    began = time.perf_counter()
    app = app_for(path, apart)
    read = time.perf_counter() - began
    async with app.run_test(size=(100, 30)) as pilot:
        await pilot.pause()
        shown = time.perf_counter() - began
        busy = "while the solver works" if apart else "with a stand-in for the solver"
        print(f"{count} services, {busy}: read in {read:.2f} s, shown after {shown:.2f} s")
        for title, keys in ACTIONS:
            await act(pilot, title, keys)
        print(f"  solver still at work: {'yes' if app.bench.is_busy else 'no'}")
        began = time.perf_counter()
    print(f"  left after {time.perf_counter() - began:.2f} s")


def main() -> None:
    """Measure both sizes."""
    with tempfile.TemporaryDirectory() as folder:
        for count, apart in ((1000, False), (200, True), (1000, True)):
            path = Path(folder) / f"site-{count}.yaml"
            path.write_text(many(count), encoding="utf-8")
            asyncio.run(measure(path, count, apart))


if __name__ == "__main__":
    main()
