"""A question with a few answers, each on a key."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Button, Static

from tui.theme import words


class Ask(ModalScreen[str]):
    """Gives the id of the answer, '' when the person goes back."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "back", "back", show=False)]

    def __init__(self, title: str, text: Text, answers: Sequence[tuple[str, str, str]]) -> None:
        super().__init__()
        self.heading = title
        self.text = text
        self.answers = answers

    def compose(self) -> ComposeResult:
        """Lay out the question and its answers (id, key, words)."""
        with Vertical(classes="form"):
            yield Static(words(self.heading, "head"), classes="form-title", markup=False)
            with VerticalScroll(classes="ask-text" if self.answers else "ask-text alone"):
                yield Static(self.text, markup=False)
            for name, key, label in self.answers:
                yield Button(words(f"{key}  {label}").plain, id=f"answer-{name}", compact=True)
            yield Static(words("Escape goes back", "dim"), classes="form-keys", markup=False)

    def on_mount(self) -> None:
        """Let the arrow keys scroll a long text."""
        self.query_one(".ask-text").focus()

    def on_key(self, event: events.Key) -> None:
        """Take an answer by its key."""
        for name, key, _ in self.answers:
            if event.key == key:
                event.stop()
                self.dismiss(name)

    def on_button_pressed(self, event: Button.Pressed) -> None:
        """Take an answer by a click."""
        event.stop()
        self.dismiss((event.button.id or "").removeprefix("answer-"))

    def action_back(self) -> None:
        """Go back without an answer."""
        self.dismiss("")
