"""The places: each shows one side of the site and offers what can be done there."""

from __future__ import annotations

from collections.abc import Mapping

from tui.places.base import Place
from tui.places.pages import HeatPlace, PlanPlace, SoundPlace
from tui.places.services import Services
from tui.places.tables import Boxes, Moves, Rules
from tui.session import Session

MAKERS: Mapping[str, type[Place]] = {
    "boxes": Boxes,
    "services": Services,
    "rules": Rules,
    "plan": PlanPlace,
    "sound": SoundPlace,
    "heat": HeatPlace,
    "moves": Moves,
}


def make_place(name: str, session: Session) -> Place:
    """Make a place by its name."""
    return MAKERS[name](session, name)
