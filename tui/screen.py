"""The frame of the screen and the flow through it: texts in, solves in the background, news on the screen."""

from __future__ import annotations

import contextlib
import importlib
import threading
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.app import App, ComposeResult
from textual.binding import BindingType
from textual.message import Message
from textual.widgets import ContentSwitcher, Footer, Static

from planner.domain.plan import Plan
from planner.domain.site import Site
from planner.inventory import Problem
from planner.inventory.editing import SaveError
from tui.edits import Edit
from tui.keys import PLACES, app_bindings
from tui.messages import Told, WorkedOut
from tui.places import make_place
from tui.places.base import Place
from tui.session import RefusedError, Session, Standing, problem_words
from tui.solving.background import Began, Ended, Running, Solver, Workbench, end_at_once
from tui.solving.planned import Planned
from tui.surroundings import heed_hangup, progress_beside
from tui.theme import DAY, NIGHT, words
from tui.why import Explainer
from tui.widgets.standing_line import StandingLine
from tui.widgets.tab_bar import Strip, Tab

if TYPE_CHECKING:
    from planner.moves.tasks.progress import Progress
    from tui.solving.analyses import Afterwork

TICK_S = 0.5
HINTS = {Standing.IMPOSSIBLE: "k shows what to relax", Standing.FAILED: "g plans again"}
Afterworker = Callable[[Site, Plan, "Progress | None"], "Afterwork"]


class Frame(App[None], inherit_bindings=False):
    """The screen without the actions of editing."""

    CSS_PATH = "stillroom.tcss"
    TITLE = "Stillroom"
    BINDINGS: ClassVar[list[BindingType]] = app_bindings()
    COMMAND_PALETTE_DISPLAY = "a"
    NOTIFICATION_TIMEOUT = 4.0

    def __init__(
        self,
        session: Session,
        solver: Solver,
        afterworker: Afterworker,
        explainer: Explainer,
        keys: Mapping[str, str] | None = None,
        time_s: float = 60.0,
    ) -> None:
        super().__init__()
        self.explainer = explainer
        self.session = session
        self.afterworker = afterworker
        self.bench = Workbench(solver, lambda news: self._from_thread(Told(news)), time_s)
        self.after: threading.Thread | None = None
        self.is_leaving = False
        self.rescued: Path | None = None
        self.keys = dict(keys or {})
        self.here = "services"
        # Now, for a look that is changed later is worked out twice.
        self.register_theme(NIGHT)
        self.register_theme(DAY)
        self.theme = NIGHT.name

    def compose(self) -> ComposeResult:
        """Lay out the screen."""
        yield Static(id="title", markup=False)
        yield StandingLine(self.session, id="standing")
        yield Strip(id="strip")
        with ContentSwitcher(initial=self.here, id="places"):
            yield make_place(self.here, self.session)
        yield Static(id="message", markup=False)
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Take the keys, show the file, and plan it."""
        self.set_keymap(self.keys)
        self.set_interval(TICK_S, self._tick)
        heed_hangup(self._put_away)
        self.call_after_refresh(self._begin)

    def _begin(self) -> None:
        self.go_to(self.here)
        self.show_title()
        self.call_after_refresh(self._go_on)

    async def _go_on(self) -> None:
        """With the file in sight, plan it, and get ready for what comes next."""
        self.start_solve()
        await self._make_places()
        threading.Thread(target=self._read_ahead, name="read", daemon=True).start()

    async def _make_places(self) -> None:
        """Make the places that are not there yet."""
        made = [make_place(name, self.session) for name in PLACES if not self.query(f"#{name}")]
        for place in made:
            place.display = False
        await self.query_one("#places").mount_all(made)

    def _read_ahead(self) -> None:
        """Find every value's place in the text before the first edit asks for it; learn what plans are."""
        document = self.session.document
        assert document.data is not None
        assert document.root is not None
        for name in ("planner.placement.solve", "planner.report.plan.build", "tui.solving.analyses"):
            importlib.import_module(name)

    def _tick(self) -> None:
        if not self.is_gone and self.standing.began is not None:
            self.standing.refresh()

    @property
    def is_gone(self) -> bool:
        """Whether the screen is being taken down, so that late news must not touch it."""
        return self.is_leaving or not self.query(StandingLine)

    def _from_thread(self, message: Message) -> None:
        if not self.is_leaving:
            self.post_message(message)

    @property
    def standing(self) -> StandingLine:
        """The standing line."""
        return self.query_one(StandingLine)

    @property
    def place(self) -> Place:
        """The place one is at."""
        return self.query_one(f"#{self.here}", Place)

    def go_to(self, name: str) -> None:
        """Show a place."""
        if not self.query(f"#{name}"):
            self.call_later(self.go_to, name)
            return
        self.here = name
        self.query_one("#places", ContentSwitcher).current = name
        self.query_one(Strip).show_here(name)
        if self.place.is_stale:
            self.place.bring_up_to_date()
        self.place.focus_first()

    def on_tab_picked(self, event: Tab.Picked) -> None:
        """Go where a person clicked."""
        self.go_to(event.place)

    def show_title(self) -> None:
        """Show the site, the file, and whether it is saved."""
        saved = "= saved" if self.session.is_saved else "● not saved"
        self.query_one("#title", Static).update(
            words(f"{saved}  {self.session.path.name}  ·  {self.session.site.name}", "head")
        )

    def show_all(self) -> None:
        """Show the session as it is now: the place one is at, and the others when one goes there."""
        for place in self.query(Place):
            place.is_stale = True
        self.place.bring_up_to_date()
        self.show_title()
        done = self.session.afterwork
        self.standing.windows = None if done is None else done.windows
        self.standing.refresh()

    def say(self, text: str, style: str = "") -> None:
        """Say something in the line above the keys."""
        made = words(text, style)
        made.no_wrap, made.overflow = False, "fold"
        self.query_one("#message", Static).update(made)

    def refuse(self, lines: Sequence[str]) -> None:
        """Say why something was not done."""
        more = f" (and {len(lines) - 1} more)" if len(lines) > 1 else ""
        self.say(f"✖ not done: {lines[0] if lines else 'nothing to do'}{more}", "bad")

    def take(self, edit: Edit) -> Sequence[Problem]:
        """Take an edit over and plan again; gives what is wrong with it instead, where something is."""
        try:
            is_changed = self.session.edit(edit.name, edit.document)
        except RefusedError as error:
            return error.problems
        self.say(f"✔ {edit.name}  (undo with u)" if is_changed else "nothing changed")
        if is_changed:
            self.call_later(self.after_change)
        return ()

    def take_or_refuse(self, make: Callable[[], Edit]) -> None:
        """Take an edit over, or say why not."""
        try:
            problems = self.take(make())
        except RefusedError as error:
            problems = error.problems
        if problems:
            self.refuse([problem_words(item) for item in problems])

    def after_change(self) -> None:
        """Show the new text and plan it."""
        self.show_all()
        self.start_solve()

    def start_solve(self) -> None:
        """Plan the text as it is, from the plan at hand; a solve that runs gives way."""
        self.standing.begin()
        self.bench.start(self.session.site, self.session.last(), self.session.revision)

    def on_told(self, event: Told) -> None:
        """Take news of a solve."""
        news = event.news
        if self.is_gone:
            return
        if isinstance(news, Began):
            self.standing.begin()
        elif isinstance(news, Running):
            self.standing.progress = news.progress
            self.standing.refresh()
        elif isinstance(news, Ended):
            self._ended(news)

    def _ended(self, news: Ended) -> None:
        if news.result is not None:
            is_taken = self.session.take(news.result, news.revision, news.planned)
        else:
            is_taken = self.session.fail(news.failure, news.revision)
        if not is_taken:
            return
        self.standing.end()
        if self.session.standing in HINTS:
            reason = self.session.reasons[0] if self.session.reasons else ""
            self.say(f"✖ {self.session.standing}: {reason} ({HINTS[self.session.standing]})", "bad")
        self.show_all()
        self._start_afterwork()

    def _start_afterwork(self) -> None:
        planned = self.session.planned
        if planned is None or self.session.afterwork is not None:
            return
        if self.after is not None and self.after.is_alive():
            end_at_once(self.afterworker)
        self.after = threading.Thread(target=self._afterwork, args=(planned,), name="after", daemon=True)
        self.after.start()

    def _afterwork(self, planned: Planned) -> None:
        try:
            found = self.afterworker(planned.site, planned.plan, progress_beside(self.session.path))
        except Exception as error:
            self._from_thread(WorkedOut(planned, None, f"{type(error).__name__}: {error}"))
        else:
            self._from_thread(WorkedOut(planned, found))

    def on_worked_out(self, event: WorkedOut) -> None:
        """Take the waves and the ladder of the plan at hand."""
        if self.is_gone or event.planned is not self.session.planned:
            return
        if event.afterwork is None:
            self.say(f"✖ the waves could not be worked out: {event.failure}", "bad")
            return
        self.session.afterwork = event.afterwork
        self.show_all()

    def on_unmount(self) -> None:
        """Keep what was not saved, unless the person left it behind, and call the solve off at once."""
        self._put_away()

    def _put_away(self) -> None:
        if not self.is_leaving and not self.session.is_saved:
            with contextlib.suppress(SaveError):
                self.rescued = self.session.save_beside()
        self.is_leaving = True
        self.bench.leave()
        end_at_once(self.afterworker)
        end_at_once(self.explainer)
