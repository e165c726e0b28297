"""Inventories with many services, for the interface alone."""

from __future__ import annotations

from tests.tui.screens import SMALL

LINE = "  extra-{}: {{box: gorse, cpu: 0.001, memory: 0.01 GiB, disk: 0.5 GB, restart: optional}}\n"


def many(count: int) -> str:
    """Write the small office with so many services more."""
    text = SMALL.read_text(encoding="utf-8")
    return text.replace("services:\n", "services:\n" + "".join(LINE.format(i) for i in range(count)))
