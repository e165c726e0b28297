"""A place that is a page of text to scroll."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.app import ComposeResult

from planner.report.common.text import Line
from tui.places.base import Place
from tui.session import Session
from tui.widgets.scroll_view import Paper

LEAST_WIDTH = 20
MARGINS = 4


class PagePlace(Place):
    """A page of text."""

    fits_width: ClassVar[bool] = False
    """Whether the page is set anew for another width."""

    def __init__(self, session: Session, id: str) -> None:
        super().__init__(session, id)
        self.set_for = 0

    def compose(self) -> ComposeResult:
        """Lay out the page."""
        yield Paper(classes="page")

    def lines(self, width: int) -> list[Line]:
        """Build the page for a width in columns."""
        raise NotImplementedError

    def bring_up_to_date(self) -> None:
        """Show the page as it is now."""
        self.is_stale, self.set_for = False, self.size.width
        self.query_one(Paper).show(self.lines(max(LEAST_WIDTH, self.size.width - MARGINS)))

    def on_resize(self, event: events.Resize) -> None:
        """Set the page anew for another width, where that matters."""
        if self.fits_width and not self.is_stale and event.size.width not in (0, self.set_for):
            self.bring_up_to_date()

    def focus_first(self) -> None:
        """Put the focus on the page, so that the arrow keys scroll it."""
        self.query_one(Paper).focus()
