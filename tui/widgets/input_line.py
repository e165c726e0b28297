"""A line to type into whose Enter takes effect before the next key, however fast a person types."""

from __future__ import annotations

from collections.abc import Callable

from textual import events
from textual.suggester import Suggester
from textual.widgets import Input


class TypeLine(Input):
    """An input that calls a function at Enter, at once, where a message would come after the next key."""

    def __init__(
        self,
        value: str = "",
        placeholder: str = "",
        enter: Callable[[], None] | None = None,
        suggester: Suggester | None = None,
        classes: str | None = None,
    ) -> None:
        super().__init__(
            value,
            placeholder=placeholder,
            suggester=suggester,
            select_on_focus=False,
            classes=classes,
            compact=True,
        )
        self.enter = enter

    async def _on_key(self, event: events.Key) -> None:
        """Take Enter in its turn; a key that was meant for where the focus went by then goes there."""
        if not self.screen.is_current or self.screen.focused is not self:
            event.stop()
            event.prevent_default()
            self.app.post_message(events.Key(event.key, event.character))
        elif event.key == "enter" and self.enter is not None:
            event.stop()
            event.prevent_default()
            self.enter()
        else:
            await super()._on_key(event)
