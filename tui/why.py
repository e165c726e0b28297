"""Why a service goes where it goes: at once what forbids each machine, then what each would change."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import TYPE_CHECKING

from rich.text import Text
from textual.message import Message
from textual.widgets import Static

from planner.domain.plan import Plan
from planner.domain.site import Site
from tui.forms.ask import Ask
from tui.session import Session
from tui.solving.planned import Planned
from tui.theme import words
from tui.views.services import service_detail, why_lines

if TYPE_CHECKING:
    from planner.report.why.page import WhyPage

Explain = Callable[[threading.Event], "WhyPage"]
"""Works a page out; heeds the event that calls it off."""

Explainer = Callable[[Site, Plan, str, float, threading.Event], "WhyPage"]
"""`tui.solving.processes.ApartWhy`, or a stand-in."""


NO_PLAN = "what each would change is told once there is a plan that knows the service"


class Explained(Message):
    """The page has come, or why there is none."""

    def __init__(self, page: WhyPage | None, failure: str = "") -> None:
        super().__init__()
        self.page = page
        self.failure = failure


class WhyAsk(Ask):
    """The answer to 'why', which grows while it is looked at; leaving calls the work off."""

    def __init__(self, session: Session, service: str, explain: Explain | None) -> None:
        super().__init__(f"Why {service}?", first_text(session, service, explain is not None), ())
        self.explain = explain
        self.detail = service_detail(session, service)[1:]
        self.called_off = threading.Event()

    def on_mount(self) -> None:
        """Begin the work behind the screen."""
        if self.explain is not None:
            threading.Thread(target=self._work, args=(self.explain,), name="why", daemon=True).start()

    def _work(self, explain: Explain) -> None:
        try:
            found = Explained(explain(self.called_off))
        except Exception as error:
            found = Explained(None, f"{type(error).__name__}: {error}")
        if not self.called_off.is_set():
            self.post_message(found)

    def on_unmount(self) -> None:
        """Call the work off."""
        self.called_off.set()

    def on_explained(self, event: Explained) -> None:
        """Show the page."""
        lines = [words(f"✖ it could not be worked out: {event.failure}", "bad")]
        if event.page is not None:
            lines = page_words(event.page)
        told = [words(line) for line in self.detail]
        self.query_one(".ask-text Static", Static).update(_wrapped([*told, words(""), *lines]))


def first_text(session: Session, service: str, is_coming: bool) -> Text:
    """Say what decides about a service, and what forbids each machine."""
    lines = [words(line) for line in service_detail(session, service)[1:]]
    lines.append(words(""))
    for machine, reason in why_lines(session, service):
        lines.append(words(f"✖ {machine}: {reason}" if reason else f"✔ {machine}: nothing forbids it"))
    coming = words("◔ what each would change is being worked out", "doubt")
    return _wrapped([*lines, words(""), coming if is_coming else words(NO_PLAN, "dim")])


def page_words(page: WhyPage) -> list[Text]:
    """Say for each machine what the best plan with the service there would change."""
    from planner.report.why.text import HEADING, SIGNS, place_words

    styles = {"planned": "good", "impossible": "dim", "forbidden": "dim"}
    lines = [words(HEADING, "head")]
    for entry in page.places:
        text = f"{SIGNS[entry.verdict]} {place_words(page, entry)}"
        lines.append(words(text, styles.get(entry.verdict, "")))
    return lines


def explain_of(explainer: Explainer, planned: Planned | None, service: str, time_s: float) -> Explain | None:
    """Find the work that explains a service of the plan at hand; None where the plan does not know it."""
    if planned is None or service not in planned.site.service:
        return None
    known = planned
    return lambda called_off: explainer(known.site, known.plan, service, time_s, called_off)


def _wrapped(lines: list[Text]) -> Text:
    text = Text("\n").join(lines)
    text.no_wrap, text.overflow = False, "fold"
    return text
