"""Work in a thread of its own, left to itself where it does not end soon after a cancel or its last moment.

Writing a large programme and the first relaxation of one do not look up from their work for seconds.

Why so: solving is done in a thread of its own, and the best checked plan is taken from it. HiGHS does not
look at the clock while it solves the first relaxation of 2,000 services, for a minute. What is in hand once
the time is well over is given, checked, and said to be stopped by the time limit.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable

GRACE_S = 0.1
"""Seconds that cancelled work is given to end by itself."""

TICK_S = 0.05


def attended(work: Callable[[], None], cancel: threading.Event | None, until: float = math.inf) -> bool:
    """Do some work; False where it is left behind, still at it. Raises what the work raises.

    It is left once it is cancelled, or at ``until`` of the monotonic clock. What it has set down by then
    holds; its thread ends at its next look at the clock or at ``cancel``, or with the process.
    """
    called_off = cancel or threading.Event()
    raised: list[BaseException] = []

    def apart() -> None:
        try:
            work()
        except BaseException as error:
            raised.append(error)

    thread = threading.Thread(target=apart, name="at work", daemon=True)
    thread.start()
    while thread.is_alive() and not called_off.is_set() and time.monotonic() < until:
        thread.join(TICK_S)
    thread.join(GRACE_S)
    if raised:
        raise raised[0]
    return not thread.is_alive()
