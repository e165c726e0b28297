"""A piece of plain work that measures the processor, so that a limit on time holds on slow ones too."""

from __future__ import annotations

import time

import yaml


def unit_s(text: str, times: int = 3) -> float:
    """Compute the seconds of processor time that the usual reader takes for a text, the least of several."""
    taken = []
    for _ in range(times):
        began = time.thread_time()
        yaml.safe_load(text)
        taken.append(time.thread_time() - began)
    return min(taken)
