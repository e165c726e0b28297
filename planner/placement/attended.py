"""Work in a thread of its own, which is left to itself where it does not end soon after it is cancelled.

Writing a large programme and the first relaxation of one do not look up from their work for seconds.
"""

from __future__ import annotations

import threading
from collections.abc import Callable

GRACE_S = 0.1
"""Seconds that cancelled work is given to end by itself."""

TICK_S = 0.05


def attended(work: Callable[[], None], cancel: threading.Event | None) -> bool:
    """Do some work; False where it was cancelled and is left behind, still at it. Raises what it raises.

    What the work has set down by then holds; a thread left behind ends at its next look at ``cancel``, or
    with the process.
    """
    if cancel is None:
        work()
        return True
    raised: list[BaseException] = []

    def apart() -> None:
        try:
            work()
        except BaseException as error:
            raised.append(error)

    thread = threading.Thread(target=apart, name="at work", daemon=True)
    thread.start()
    while thread.is_alive() and not cancel.is_set():
        thread.join(TICK_S)
    thread.join(GRACE_S if cancel.is_set() else None)
    if raised:
        raise raised[0]
    return not thread.is_alive()
