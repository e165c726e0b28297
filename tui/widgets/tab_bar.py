"""The strip of places: shows where one is, and goes there on a click."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.message import Message
from textual.widgets import Static

from tui.keys import PLACES
from tui.theme import words


class Tab(Static):
    """The name of a place, with its key."""

    class Picked(Message):
        """A person goes to a place."""

        def __init__(self, place: str) -> None:
            super().__init__()
            self.place = place

    def __init__(self, place: str, key: str) -> None:
        super().__init__(words(f"{key} {place.capitalize()}"), id=f"tab-{place}", classes="tab", markup=False)
        self.place = place

    def on_click(self) -> None:
        """Go there."""
        self.post_message(self.Picked(self.place))


class Strip(Horizontal):
    """All places side by side."""

    def compose(self) -> ComposeResult:
        """Lay out the places."""
        for number, place in enumerate(PLACES, start=1):
            yield Tab(place, str(number))

    def show_here(self, here: str) -> None:
        """Mark where one is, by brackets and by light."""
        for number, tab in enumerate(self.query(Tab), start=1):
            is_here = tab.place == here
            name = tab.place.capitalize()
            tab.set_class(is_here, "here")
            tab.update(words(f"[{name}]" if is_here else f"{number} {name}"))
