"""What threads tell the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.message import Message

from tui.solving.background import News
from tui.solving.planned import Planned

if TYPE_CHECKING:
    from tui.solving.analyses import Afterwork


class Told(Message):
    """News of a solve, from its thread."""

    def __init__(self, news: News) -> None:
        super().__init__()
        self.news = news


class WorkedOut(Message):
    """The waves and the ladder of a plan, from a thread; or why there are none."""

    def __init__(self, planned: Planned, afterwork: Afterwork | None, failure: str = "") -> None:
        super().__init__()
        self.planned = planned
        self.afterwork = afterwork
        self.failure = failure
