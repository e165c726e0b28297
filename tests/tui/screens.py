"""Helpers: an app on a copy of a site with a quick stand-in for the solver, and the screen as text."""

from __future__ import annotations

import asyncio
import shutil
import threading
from collections.abc import Awaitable, Callable, Mapping
from pathlib import Path

from textual.pilot import Pilot
from textual.widgets import Input

from planner.domain.machines import Role
from planner.domain.plan import AimResult, Outcome, Plan, aim_value
from planner.domain.site import Site
from planner.domain.state import Machine, State, state_today
from planner.ledger import ledger
from planner.moves import Order
from planner.moves import Progress as Done
from planner.placement.result import Options, Progress, Result
from planner.report.moves.page import moves_page
from planner.report.why.page import WhyPage
from tui.app import Stillroom
from tui.screen import Afterworker
from tui.session import Session, Standing
from tui.solving.analyses import Afterwork
from tui.solving.background import Last, Solver
from tui.why import Explainer
from tui.widgets.table import Sheet

INVENTORIES = Path(__file__).resolve().parents[2] / "inventories"
SMALL = INVENTORIES / "small-office.yaml"
PATIENCE = 2000


def plain_state(site: Site) -> State:
    """Make a state by a simple rule: who must not be a guest stays, all others share the first host kind."""
    hosts = [kind for kind in site.kinds if kind.role is Role.HOST]
    stays = {item.name for item in site.services if item.physical or item.stay_on or not hosts}
    kept = tuple(
        Machine(
            item.name, item.role, item.circuit, tuple(n for n in item.services if n in stays), box=item.box
        )
        for item in state_today(site).machines
        if stays & {*item.services}
    )
    guests = tuple(item.name for item in site.services if item.name not in stays)
    if not guests:
        return State(kept, cooling=state_today(site).cooling)
    circuit = site.supply.circuits[0].name
    host = Machine(f"{hosts[0].name}-1", Role.HOST, circuit, guests, kind=hosts[0].name)
    return State((*kept, host), cooling=state_today(site).cooling)


def stand_in(
    site: Site,
    options: Options | None = None,
    *,
    last: Last | None = None,
    cancel: threading.Event | None = None,
    watch: Callable[[Progress], None] | None = None,
) -> Result:
    """Answer at once with the plain state, said to be proven."""
    state = plain_state(site)
    book = ledger(site, state)
    values = [(aim, aim_value(site, state, book, aim)) for aim in site.policy.aims]
    aims = tuple(AimResult(aim, value, value, True) for aim, value in values)
    return Result(Outcome.PROVEN, Plan(state, aims, Outcome.PROVEN), (), 0.1)


def no_waves(site: Site, plan: Plan, progress: Done | None = None) -> Afterwork:
    """Stand in for the ordering of moves where it is not the point."""
    del progress
    return Afterwork(moves_page(site, str(plan.outcome), Order((), (), ())))


def never_why(site: Site, plan: Plan, service: str, time_s: float, called_off: threading.Event) -> WhyPage:
    """Stand in for what explains where it is not the point: give nothing until it is called off."""
    del site, plan, service, time_s
    called_off.wait()
    raise RuntimeError("called off")


def copy_of(folder: Path, source: Path = SMALL) -> Path:
    """Put a copy of an inventory into a folder."""
    return Path(shutil.copy(source, folder / source.name))


async def settled(pilot: Pilot[None]) -> None:
    """Wait until the plan at hand is that of the text, and all rows are in their tables."""
    app = pilot.app
    assert isinstance(app, Stillroom)
    for _ in range(PATIENCE):
        await pilot.pause(0.01)
        fresh = app.session.standing not in (Standing.STALE, Standing.NONE)
        done = not app.bench.is_busy and (app.session.afterwork or not app.session.planned)
        if fresh and done and all(sheet.row_count == len(sheet.drawn) for sheet in app.query(Sheet)):
            break
    await pilot.pause()


def screen_text(app: Stillroom) -> str:
    """Write the screen as text, line by line."""
    height = app.size.height
    strips = app.screen._compositor.render_strips()
    lines = ["".join(segment.text for segment in strip).rstrip() for strip in strips]
    assert len(lines) == height
    return "\n".join(lines)


Script = Callable[[Stillroom, Pilot[None]], Awaitable[None]]


def drive(
    folder: Path,
    script: Script,
    *,
    size: tuple[int, int] = (100, 30),
    source: Path | str = SMALL,
    solver: Solver = stand_in,
    afterworker: Afterworker = no_waves,
    explainer: Explainer = never_why,
    keys: Mapping[str, str] | None = None,
    is_settled: bool = True,
) -> Stillroom:
    """Run a script against the interface on a copy of a file (or on a text), and give the app it ran on."""
    if isinstance(source, str):
        path = folder / "site.yaml"
        path.write_text(source, encoding="utf-8")
    else:
        path = copy_of(folder, source)
    app = Stillroom(Session.open(path), solver, afterworker, explainer, keys)

    async def run() -> None:
        async with app.run_test(size=size) as pilot:
            if is_settled:
                await settled(pilot)
            else:
                await pilot.pause()
            await script(app, pilot)

    asyncio.run(run())
    return app


async def press(pilot: Pilot[None], *keys: str) -> None:
    """Press keys and wait until the screen and the plan have followed; ``=text`` types a text at once."""
    for key in keys:
        if key.startswith("="):
            field = pilot.app.focused
            assert isinstance(field, Input)
            field.value = key[1:]
            await pilot.pause()
        else:
            await pilot.press(key)
    await settled(pilot)
