"""How much work a piece of code is, in calls of functions: the same on a fast and on a busy machine."""

from __future__ import annotations

import sys
from collections.abc import Callable
from types import FrameType
from typing import Any


class Calls:
    """Counts the calls of functions in this thread while it is entered."""

    def __init__(self) -> None:
        self.count = 0

    def __enter__(self) -> Calls:
        sys.setprofile(self._heard)
        return self

    def __exit__(self, *failure: object) -> None:
        sys.setprofile(None)

    def _heard(self, frame: FrameType, event: str, _: Any) -> None:
        del frame
        self.count += event in ("call", "c_call")


def calls_of(work: Callable[[], object]) -> int:
    """Count the calls of functions that some work takes."""
    with Calls() as calls:
        work()
    return calls.count
