"""The form of an entry, or of several at once: fields that fit their types, checked as they are typed."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import ClassVar

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from planner.inventory import Problem
from planner.inventory.text.errors import Path, path_text
from tui.forms.choice import Choice
from tui.forms.fields import Field
from tui.forms.line import Line
from tui.theme import words

Changes = Mapping[Path, str | None]
Attempt = Callable[[Changes], Sequence[Problem]]
"""Takes what was changed; gives what is wrong with it, nothing when it was taken over."""

KEYS = "Enter take over · Tab next field · Escape leave as it was"


class EntryForm(ModalScreen[bool]):
    """Fields with their values; gives True when a change was taken over."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "leave", show=False),
        Binding("enter", "take_over", "take over", show=False),
        Binding("down", "app.focus_next", "next field", show=False),
        Binding("up", "app.focus_previous", "field before", show=False),
    ]

    def __init__(
        self,
        title: str,
        fields: Sequence[tuple[Field, str | None]],
        attempt: Attempt,
        first: Path | None = None,
        is_new: bool = False,
    ) -> None:
        super().__init__()
        self.heading = title
        self.fields = fields
        self.attempt = attempt
        self.first = first
        self.is_new = is_new

    def compose(self) -> ComposeResult:
        """Lay out the fields, the reasons that belong to none, and the help of the field in hand."""
        with Vertical(classes="form"):
            yield Static(words(self.heading, "head"), classes="form-title", markup=False)
            with VerticalScroll(classes="form-lines", can_focus=False):
                for field, start in self.fields:
                    yield Line(field, start, self.action_take_over)
            yield Static("", classes="form-reasons", markup=False)
            yield Static("", classes="form-help", markup=False)
            yield Static(words(KEYS, "dim"), classes="form-keys", markup=False)

    @property
    def lines(self) -> list[Line]:
        """The fields."""
        return list(self.query(Line))

    def on_mount(self) -> None:
        """Begin at the field asked for."""
        wanted = [line for line in self.lines if line.field.path == self.first]
        (wanted or self.lines)[0].control.focus()

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        """Show the help of the field in hand."""
        for line in self.lines:
            if event.widget in line.walk_children():
                known = line.field.known or line.field.choices
                names = f" One of: {', '.join(known)}." if known else ""
                text = words(f"{line.field.label}: {line.field.help}{names}")
                text.no_wrap = False
                self.query_one(".form-help", Static).update(text)
                line.scroll_visible(animate=False)

    def on_input_changed(self, event: Input.Changed) -> None:
        """Check what was typed."""
        event.stop()
        self._check(event.input)

    def on_choice_turned(self, event: Choice.Turned) -> None:
        """Check what was chosen."""
        event.stop()
        if self.focused is not None:
            self._check(self.focused)

    def _check(self, control: object) -> None:
        for line in self.lines:
            if line.control is control and (line.is_changed or line.outside):
                line.outside = ""
                line.check()
            elif line.control is control:
                line.tell("")

    def action_leave(self) -> None:
        """Leave all as it was."""
        self.dismiss(False)

    def action_take_over(self) -> None:
        """Take the changes over if nothing is wrong with them; else show what is, beside its field."""
        changed = [line for line in self.lines if line.is_changed or (self.is_new and line.field.required)]
        wrong = [line for line in changed if line.check()]
        if wrong:
            wrong[0].control.focus()
            return
        if not changed:
            self.dismiss(False)
            return
        problems = self.attempt({line.field.path: line.written for line in changed})
        if not problems:
            self.dismiss(True)
            return
        self._show(problems)

    def _show(self, problems: Sequence[Problem]) -> None:
        """Show each problem beside the field it speaks of, and the others at the foot."""
        rest: list[str] = []
        for line in self.lines:
            line.tell("")
        for problem in problems:
            line_of = self._line_of(problem)
            reason = f"{problem.message} {problem.repair}".strip()
            if line_of is None:
                rest.append(f"✖ {problem.path}: {reason}" if problem.path else f"✖ {reason}")
            else:
                line_of.outside = reason
                line_of.tell(reason)
                line_of.scroll_visible(animate=False)
        text = Text("\n").join(words(item, "bad") for item in rest)
        text.no_wrap = False
        self.query_one(".form-reasons", Static).update(text)

    def _line_of(self, problem: Problem) -> Line | None:
        for line in self.lines:
            if problem.path.endswith(f".{path_text(line.field.path)}"):
                return line
        return None
