"""The editing session: the text, what it means, what can be undone, where the plan stands. No screen here."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

from planner.domain.conflict import Conflict
from planner.domain.plan import Outcome
from planner.domain.site import Site
from planner.inventory import InventoryError, Loaded, Problem, load_text
from planner.inventory.editing import Document, digest, save, save_beside
from planner.inventory.text.yaml_tree import read_text
from planner.report.common.conflicts import reasons
from tui.solving.background import Last
from tui.solving.planned import Planned

if TYPE_CHECKING:
    from planner.placement.result import Result
    from tui.solving.analyses import Afterwork


class Standing(StrEnum):
    """How far the plan on the screen can be trusted, for the text on the screen."""

    PROVEN = "proven"
    STOPPED = "stopped"
    STALE = "stale"
    NONE = "no plan yet"
    IMPOSSIBLE = "no plan can exist"
    FAILED = "solver failed"


class RefusedError(Exception):
    """An edit that would leave the file unusable; each problem is a mistake with its repair."""

    def __init__(self, *problems: Problem) -> None:
        super().__init__("\n".join(problem_words(item) for item in problems))
        self.problems = problems

    @property
    def lines(self) -> tuple[str, ...]:
        """The mistakes in words."""
        return tuple(problem_words(item) for item in self.problems)


@dataclass(frozen=True)
class Step:
    """An edit that was made: its name, and the text before and after."""

    name: str
    before: Document
    after: Document


@dataclass
class Session:
    """One file being edited. ``revision`` counts the texts there were: late answers are told apart."""

    path: Path
    document: Document
    loaded: Loaded
    seen: str
    saved: str
    done: list[Step] = field(default_factory=list)
    undone: list[Step] = field(default_factory=list)
    revision: int = 0
    planned: Planned | None = None
    previous: Planned | None = None
    pinned: Planned | None = None
    afterwork: Afterwork | None = None
    standing: Standing = Standing.NONE
    conflicts: tuple[Conflict, ...] = ()
    reasons: tuple[str, ...] = ()

    @classmethod
    def open(cls, path: Path) -> Session:
        """Read a file; InventoryError lists its mistakes when it cannot be used."""
        text = read_text(path)
        document = Document.of(text, path.name)
        return cls(path, document, load_text(text, path), digest(text.encode("utf-8")), document.whole)

    @property
    def site(self) -> Site:
        """The site as the text now describes it."""
        return self.loaded.site

    @property
    def is_saved(self) -> bool:
        """Whether the file holds the text."""
        return self.document.whole == self.saved

    def check(self, document: Document) -> Loaded:
        """Read a text that an edit would give; RefusedError with all that would be wrong."""
        try:
            return load_text(document.whole, self.path)
        except InventoryError as error:
            raise RefusedError(*error.problems) from None

    def edit(self, name: str, document: Document) -> bool:
        """Take an edit, named by what it does; False when nothing changes. RefusedError: it may not be."""
        if document.text == self.document.text:
            return False
        loaded = self.check(document)
        self.done.append(Step(name, self.document, document))
        self.undone.clear()
        self._turn_to(document, loaded)
        return True

    def undo(self) -> str | None:
        """Go back one edit; gives its name, None when there is none."""
        if not self.done:
            return None
        step = self.done[-1]
        self._turn_to(step.before, self.check(step.before))
        self.undone.append(self.done.pop())
        return step.name

    def redo(self) -> str | None:
        """Make the last edit undone again; gives its name, None when there is none."""
        if not self.undone:
            return None
        step = self.undone[-1]
        self._turn_to(step.after, self.check(step.after))
        self.done.append(self.undone.pop())
        return step.name

    def _turn_to(self, document: Document, loaded: Loaded) -> None:
        self.document, self.loaded = document, loaded
        self.revision += 1
        if self.standing is not Standing.NONE:
            self.standing = Standing.STALE

    def last(self) -> Last | None:
        """Find the plan that the next solve should start from."""
        return None if self.planned is None else Last(self.planned.site, self.planned.plan)

    def take(self, result: Result, revision: int, planned: Planned | None = None) -> bool:
        """Take a solver's answer for a revision; False when the text has moved on since.

        ``planned`` is the answer's plan, where it was worked through already.
        """
        if revision != self.revision:
            return False
        self.conflicts = result.conflicts
        self.reasons = reasons(self.site, result.outcome, result.conflicts, result.failure)
        if result.plan is None:
            impossible = result.outcome is Outcome.INFEASIBLE
            self.standing = Standing.IMPOSSIBLE if impossible else Standing.STALE
            if not impossible and self.planned is None:
                self.standing = Standing.STOPPED
            return True
        self.previous, self.afterwork = self.planned, None
        self.planned = planned or Planned(self.site, result.plan, result.seconds)
        self.standing = Standing.PROVEN if self.planned.is_sure else Standing.STOPPED
        return True

    def fail(self, reason: str, revision: int) -> bool:
        """Take note that the solver failed on a revision; False when the text has moved on since."""
        if revision != self.revision:
            return False
        self.standing, self.conflicts, self.reasons = Standing.FAILED, (), (reason,)
        return True

    def pin(self) -> bool:
        """Keep the plan at hand to compare later ones with; False when there is none."""
        self.pinned = self.planned
        return self.pinned is not None

    def save(self) -> None:
        """Write the text over the file; ChangedError or SaveError when that is not safe or not possible."""
        self.seen = save(self.path, self.document.whole, self.seen)
        self.saved = self.document.whole

    def save_beside(self) -> Path:
        """Write the text under a free name beside the file; gives the name."""
        return save_beside(self.path, self.document.whole)

    def reread(self) -> None:
        """Take the file as it is now, as one edit that can be undone. InventoryError: it cannot be used."""
        text = read_text(self.path)
        document = Document.of(text, self.path.name)
        loaded = load_text(text, self.path)
        self.seen, self.saved = digest(text.encode("utf-8")), document.whole
        if document.text != self.document.text:
            self.done.append(Step("took the file as it is on disk", self.document, document))
            self.undone.clear()
            self._turn_to(document, loaded)


def problem_words(problem: Problem) -> str:
    """Write a mistake for beside a field: where, what, repair; the line of a text not saved helps nobody."""
    words = f"{problem.message} {problem.repair}".strip()
    return f"{problem.path}: {words}" if problem.path else words
