"""What the judge says of a plan file, or of a file with an order of moves, as data and as text."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Protocol

from planner.report.figures import plural
from planner.report.text import Line, heading, line, paragraph

FORMAT = "stillroom.verify"
VERSION = 1


class BreachLike(Protocol):
    """A rule or limit that a plan or an order breaks, and where."""

    @property
    def rule(self) -> str:
        """The rule's name."""

    @property
    def where(self) -> str:
        """The thing that breaks it."""

    @property
    def message(self) -> str:
        """The sentence, with numbers."""


@dataclass(frozen=True)
class VerifyPage:
    """A plan file and the breaches found in it, or in the order of its moves; none: it holds.

    ``order`` is the file of the order, None where only the plan is judged.
    """

    inventory: str
    plan: str
    breaches: tuple[tuple[str, str, str], ...]
    order: str | None = None

    @property
    def judged(self) -> str:
        """The file that is judged."""
        return self.order or self.plan


def verify_page(
    inventory: str, plan: str, breaches: Iterable[BreachLike], order: str | None = None
) -> VerifyPage:
    """Build the page."""
    found = tuple((str(item.rule), item.where, item.message) for item in breaches)
    return VerifyPage(inventory, plan, found, order)


def verify_data(page: VerifyPage) -> dict[str, Any]:
    """Give the page as JSON data."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "inventory": page.inventory,
        "plan": page.plan,
        "order": page.order,
        "holds": not page.breaches,
        "breaches": [
            {"rule": rule, "where": where, "message": message} for rule, where, message in page.breaches
        ],
    }


def verify_lines(page: VerifyPage) -> list[Line]:
    """Set the page as text."""
    if not page.breaches:
        steps = " at every step" if page.order else ""
        return [line(f"{page.judged} keeps every rule and limit of {page.inventory}{steps}", "good")]
    count = plural(len(page.breaches), "time" if page.order else "rule")
    what = (
        f"breaks the rules of {page.inventory} {count}"
        if page.order
        else f"breaks {count} of {page.inventory}"
    )
    lines = [line(f"{page.judged} {what}", "bad")]
    lines += heading("Broken")
    for rule, where, message in page.breaches:
        lines += paragraph(f"{rule}, {where}: {message}", style="bad", hang="    ")
    return lines


def verify_plain(page: VerifyPage) -> list[Line]:
    """Set the page with one fact a line."""
    facts = [line(f"breach of {rule} at {where}: {message}") for rule, where, message in page.breaches]
    sort = "order" if page.order else "plan"
    return [line(f"{sort} {page.judged}: {'broken' if page.breaches else 'holds'}"), *facts]
