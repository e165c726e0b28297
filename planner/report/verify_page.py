"""What the judge says of a plan file, as data and as text."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Protocol

from planner.report.figures import plural
from planner.report.text import Line, heading, line, paragraph

FORMAT = "stillroom.verify"
VERSION = 1


class BreachLike(Protocol):
    """A rule or limit that a plan breaks, and where."""

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
    """A plan file and the breaches found in it; none: the plan holds."""

    inventory: str
    plan: str
    breaches: tuple[tuple[str, str, str], ...]


def verify_page(inventory: str, plan: str, breaches: Iterable[BreachLike]) -> VerifyPage:
    """Build the page."""
    return VerifyPage(inventory, plan, tuple((item.rule, item.where, item.message) for item in breaches))


def verify_data(page: VerifyPage) -> dict[str, Any]:
    """Give the page as JSON data."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "inventory": page.inventory,
        "plan": page.plan,
        "holds": not page.breaches,
        "breaches": [
            {"rule": rule, "where": where, "message": message} for rule, where, message in page.breaches
        ],
    }


def verify_lines(page: VerifyPage) -> list[Line]:
    """Set the page as text."""
    if not page.breaches:
        return [line(f"{page.plan} keeps every rule and limit of {page.inventory}", "good")]
    lines = [line(f"{page.plan} breaks {plural(len(page.breaches), 'rule')} of {page.inventory}", "bad")]
    lines += heading("Broken")
    for rule, where, message in page.breaches:
        lines += paragraph(f"{rule}, {where}: {message}", style="bad", hang="    ")
    return lines


def verify_plain(page: VerifyPage) -> list[Line]:
    """Set the page with one fact a line."""
    facts = [line(f"breach of {rule} at {where}: {message}") for rule, where, message in page.breaches]
    return [line(f"plan {page.plan}: {'broken' if page.breaches else 'holds'}"), *facts]
