"""A field with a few words to choose from: arrow keys or a click turn to the next."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.message import Message
from textual.widgets import Static

from tui.theme import words

DEFAULT = "as by default"


class Choice(Static, can_focus=True):
    """One word out of several; the empty word stands for the default."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("right,space", "turn(1)", "next", show=False),
        Binding("left", "turn(-1)", "previous", show=False),
    ]

    class Turned(Message):
        """Another word was chosen."""

    def __init__(self, options: tuple[str, ...], value: str, empty: str = DEFAULT) -> None:
        super().__init__(markup=False)
        self.options = options
        self.value = value
        self.empty = empty

    def on_mount(self) -> None:
        """Show the word."""
        self._draw()

    def action_turn(self, by: int) -> None:
        """Turn to another word."""
        here = self.options.index(self.value) if self.value in self.options else 0
        self.value = self.options[(here + by) % len(self.options)]
        self._draw()
        self.post_message(self.Turned())

    def on_click(self) -> None:
        """Turn to the next word."""
        self.action_turn(1)

    def _draw(self) -> None:
        self.update(words(f"‹ {self.value or self.empty} ›"))
