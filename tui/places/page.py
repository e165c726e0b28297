"""A place that is a page of text to scroll."""

from __future__ import annotations

from textual import events
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from planner.report.text import Line
from tui.look import page_text
from tui.places.base import Place


class PagePlace(Place):
    """A page of text."""

    def compose(self) -> ComposeResult:
        """Lay out the page."""
        with VerticalScroll(classes="page"):
            yield Static(classes="page-text", markup=False)

    def lines(self, width: int) -> list[Line]:
        """Give the page for a width in columns."""
        raise NotImplementedError

    def bring_up_to_date(self) -> None:
        """Show the page as it is now."""
        self.is_stale = False
        text = page_text(self.lines(max(20, self.size.width - 4)))
        text.no_wrap, text.overflow = True, "ellipsis"
        self.query_one(".page-text", Static).update(text)

    def on_resize(self, event: events.Resize) -> None:
        """Set the page anew for another width."""
        if event.size.width and not self.is_stale:
            self.bring_up_to_date()

    def focus_first(self) -> None:
        """Put the focus on the page, so that the arrow keys scroll it."""
        self.query_one(".page", VerticalScroll).focus()
