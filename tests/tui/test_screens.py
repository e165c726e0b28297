"""Every place at 100 x 30 and 80 x 24, for a small and a mid-size site, compared with its kept picture.

The plans are kept too, so that the pictures hang on no solver. ``STILLROOM_RENEW=1`` draws them anew: look
at what changed before keeping it.
"""

from __future__ import annotations

import os
import threading
from pathlib import Path

import pytest
from textual.pilot import Pilot

from planner.domain.plan import Plan
from planner.domain.site import Site
from planner.moves import Progress
from planner.report.why.page import WhyPage
from tests.tui.kept import INVENTORIES, RENEW, kept_afterwork, kept_solver, kept_why
from tests.tui.screens import drive, press, screen_text
from tui.app import Stillroom
from tui.keys import PLACES
from tui.solving.analyses import Afterwork

HERE = Path(__file__).resolve().parent


@pytest.mark.slow
@pytest.mark.parametrize("size", [(100, 30), (80, 24)], ids=["100x30", "80x24"])
@pytest.mark.parametrize("name", ["small-office", "mid-size"])
def test_every_place_looks_as_it_did(tmp_path: Path, name: str, size: tuple[int, int]) -> None:
    """What a person sees changes only when somebody meant it to."""
    drawn: dict[str, str] = {}

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        for number, place in enumerate(PLACES, start=1):
            await press(pilot, str(number))
            drawn[place] = screen_text(app)
        await press(pilot, "2", "e")
        drawn["form"] = screen_text(app)
        await press(pilot, "escape", "w")
        while "being worked out" in screen_text(app):
            await pilot.pause(0.02)
        drawn["why"] = screen_text(app)

    def worked_out(site: Site, plan: Plan, progress: Progress | None) -> Afterwork:
        del site, plan, progress
        return kept_afterwork(name)

    def explained(site: Site, plan: Plan, service: str, time_s: float, off: threading.Event) -> WhyPage:
        del site, plan, time_s, off
        return kept_why(name, service)

    source = INVENTORIES / f"{name}.yaml"
    drive(
        tmp_path,
        script,
        size=size,
        source=source,
        solver=kept_solver(name),
        afterworker=worked_out,
        explainer=explained,
    )
    for place, text in drawn.items():
        compare(f"{name}-{size[0]}x{size[1]}-{place}.txt", text)


def compare(name: str, text: str) -> None:
    """Compare a screen with the picture kept of it."""
    path = HERE / "pictures" / name
    if os.environ.get(RENEW):
        path.parent.mkdir(exist_ok=True)
        path.write_text(text + "\n", encoding="utf-8")
    assert path.is_file(), f"no picture {name}: draw it with {RENEW}=1"
    assert text + "\n" == path.read_text(encoding="utf-8"), f"{name} looks different: see {RENEW} above"
