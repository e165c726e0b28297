"""What the judge says of a plan file, or of a file with an order of moves, as data and as text."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal, Protocol

from planner.report.common.figures import plural
from planner.report.common.json_data import Document
from planner.report.common.text import Line, heading, line, paragraph
from planner.report.plan.recomputed import Difference


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
class BreachEntry:
    """A rule or limit that the plan or the order breaks."""

    rule: str
    where: str
    message: str


@dataclass(frozen=True, kw_only=True)
class VerifyPage(Document):
    """What 'stillroom verify' says: whether a plan, or an order at each step, keeps all rules and limits.

    ``order`` is the file of the order, None where only the plan is judged. ``differences``: what the page in
    the plan file should say otherwise, None where it was not recomputed; ``not_recomputed``: parts of it that
    only a solve could give again.
    """

    format: Literal["stillroom.verify"] = "stillroom.verify"
    version: Literal[1] = 1
    inventory: str
    plan: str
    order: str | None
    holds: bool
    breaches: tuple[BreachEntry, ...]
    differences: tuple[Difference, ...] | None
    not_recomputed: tuple[str, ...]

    @property
    def judged(self) -> str:
        """The file that is judged."""
        return self.order or self.plan


def verify_page(
    inventory: str,
    plan: str,
    breaches: Iterable[BreachLike],
    order: str | None = None,
    differences: tuple[Difference, ...] | None = None,
    left_out: tuple[str, ...] = (),
) -> VerifyPage:
    """Build the page."""
    found = tuple(BreachEntry(str(item.rule), item.where, item.message) for item in breaches)
    return VerifyPage(
        inventory=inventory,
        plan=plan,
        order=order,
        holds=not found,
        breaches=found,
        differences=differences,
        not_recomputed=left_out,
    )


def verify_lines(page: VerifyPage) -> list[Line]:
    """Set the page as text."""
    if not page.breaches:
        steps = " at every step" if page.order else ""
        kept = line(f"{page.judged} keeps every rule and limit of {page.inventory}{steps}", "good")
        return [kept, *_recomputed_lines(page)]
    count = plural(len(page.breaches), "time" if page.order else "rule")
    what = (
        f"breaks the rules of {page.inventory} {count}"
        if page.order
        else f"breaks {count} of {page.inventory}"
    )
    lines = [line(f"{page.judged} {what}", "bad")]
    lines += heading("Broken")
    for item in page.breaches:
        lines += paragraph(f"{item.rule}, {item.where}: {item.message}", style="bad", hang="    ")
    return [*lines, *_recomputed_lines(page)]


def _recomputed_lines(page: VerifyPage) -> Iterator[Line]:
    if page.differences is None:
        if page.not_recomputed:
            yield line("its page was not recomputed: machines that break a rule have none")
        return
    if page.differences:
        yield from heading("Its page should say otherwise")
        for item in page.differences:
            yield from paragraph(_words(item), style="bad", hang="    ")
    else:
        yield line(f"every figure of its page is what {page.inventory} adds up to", "good")
    for part in page.not_recomputed:
        yield from paragraph(f"not recomputed, for it takes a solver: {part}", style="dim")


def _words(item: Difference) -> str:
    of = f" ({item.of})" if item.of else ""
    return f"{item.where}{of}: {item.message}"


def verify_plain(page: VerifyPage) -> list[Line]:
    """Set the page with one fact a line."""
    facts = [line(f"breach of {item.rule} at {item.where}: {item.message}") for item in page.breaches]
    sort = "order" if page.order else "plan"
    facts += [line(f"the page differs at {_words(item)}") for item in page.differences or ()]
    if page.differences == ():
        facts.append(line("page: every figure is what the inventory adds up to"))
    facts += [line(f"not recomputed: {part}") for part in page.not_recomputed]
    return [line(f"{sort} {page.judged}: {'broken' if page.breaches else 'holds'}"), *facts]
