"""One field of a form: its name, what is typed, and below it what is wrong with that."""

from __future__ import annotations

from collections.abc import Callable

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.suggester import SuggestFromList
from textual.widget import Widget
from textual.widgets import Input, Static

from tui.forms.choice import DEFAULT, Choice
from tui.forms.fields import Field, Sort, mistake, written
from tui.theme import words
from tui.widgets.input_line import TypeLine

DIFFERS = "differs; leave empty to keep each as it is"


class Line(Horizontal):
    """A field with its value; ``start`` is what it held, None where several entries differ.

    Widgets are few, because a form has many lines: the reason is there only while there is one.
    """

    def __init__(self, field: Field, start: str | None, enter: Callable[[], None]) -> None:
        super().__init__(classes="pair")
        self.enter = enter
        self.field = field
        self.start = start
        self.outside = ""
        self.reason: Static | None = None
        self.control = self._control()

    def compose(self) -> ComposeResult:
        """Lay out name and value."""
        yield Static(words(self.field.label), classes="label", markup=False)
        yield self.control

    def _control(self) -> Input | Choice:
        start = self.start or ""
        if self.field.sort is Sort.CHOICE:
            options = self.field.choices if self.field.required else ("", *self.field.choices)
            known = options if start in options else (*options, start)
            return Choice(known, start, DIFFERS if self.start is None else self.hint)
        names = self.field.known or self.field.choices
        return TypeLine(
            start,
            placeholder=DIFFERS if self.start is None else self.hint,
            enter=self.enter,
            suggester=SuggestFromList(names, case_sensitive=False) if names else None,
        )

    @property
    def hint(self) -> str:
        """What may be typed, shown while nothing is."""
        if self.field.required:
            return "needed" + (f", such as {self.field.example}" if self.field.example else "")
        if self.field.default:
            return f"{DEFAULT}: {self.field.default}"
        return DEFAULT + (f"; such as {self.field.example}" if self.field.example else "")

    @property
    def typed(self) -> str:
        """What stands in the field now."""
        return self.control.value

    @property
    def is_changed(self) -> bool:
        """Whether something else stands there than at the start."""
        return self.typed.strip() != (self.start or "").strip()

    @property
    def written(self) -> str | None:
        """What is to stand in the file."""
        return written(self.field, self.typed)

    def check(self) -> str:
        """Show what is wrong with what is typed; '' when nothing is."""
        is_untouched = self.start is None and not self.is_changed
        reason = "" if is_untouched else mistake(self.field, self.typed)
        self.tell(reason)
        return reason

    def tell(self, reason: str) -> None:
        """Show a reason below the field, or take the one shown away."""
        if not reason:
            if self.reason is not None:
                self.reason.remove()
                self.reason = None
            return
        text = words(f"✖ {reason}", "bad")
        text.no_wrap, text.overflow = False, "fold"
        if self.reason is None:
            self.reason = Static(text, classes="reason", markup=False)
            assert isinstance(self.parent, Widget)
            self.parent.mount(self.reason, after=self)
        else:
            self.reason.update(text)
