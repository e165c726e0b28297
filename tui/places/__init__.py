"""The places: each shows one side of the site and offers what can be done there."""

from __future__ import annotations

from tui.places.base import Place
from tui.places.services import Services
from tui.session import Session

MAKERS: dict[str, type[Place]] = {"services": Services}


def make_place(name: str, session: Session) -> Place:
    """Make a place by its name."""
    return MAKERS.get(name, Services)(session, name)
