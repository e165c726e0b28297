"""Longer texts that a person asks for: what to relax, help."""

from __future__ import annotations

from collections.abc import Awaitable, Callable

from rich.text import Text

from tui.keys import DEEDS, PLACE_HELP
from tui.session import Session
from tui.theme import words

Callback = Callable[[], Awaitable[None]]


def reasons_text(session: Session) -> Text:
    """Say why no plan can exist."""
    return _wrapped([words(f"✖ {reason}") for reason in session.reasons])


def help_text(here: str, keys: dict[str, str]) -> Text:
    """Say what the place is for and what each key does."""
    lines = [words(f"{here.capitalize()}: {PLACE_HELP[here]}.", "head"), words("")]
    for deed in DEEDS:
        lines.append(words(f"{keys.get(deed.id, deed.key):>14}  {deed.word}: {deed.help}"))
    return _wrapped(lines)


def _wrapped(lines: list[Text]) -> Text:
    text = Text("\n").join(lines)
    text.no_wrap, text.overflow = False, "fold"
    return text
