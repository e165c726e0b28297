"""The papers of an order: runbook, calendar and graph, each written whole or not at all."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from planner.cli import output, saving
from planner.cli.errors import RefusedError
from planner.moves import Order
from planner.moves.documents.icalendar_file import calendar
from planner.moves.documents.runbook import runbook
from planner.moves.tracking.order_in_use import OrderInUse
from planner.report.moves.graph import graph_dot, graph_svg

DRAWN = {".svg": graph_svg, ".dot": graph_dot, ".gv": graph_dot}
STDOUT = "-"


@dataclass(frozen=True)
class Papers:
    """Where to write what; None: not asked for. ``markdown`` may be '-', which is stdout."""

    markdown: str | None = None
    ics: Path | None = None
    graph: Path | None = None

    @property
    def fills_stdout(self) -> bool:
        """True when the runbook goes to stdout in place of the page."""
        return self.markdown == STDOUT

    @property
    def files(self) -> list[Path]:
        """The files to write."""
        markdown = None if self.markdown is None or self.fills_stdout else Path(self.markdown)
        return [path for path in (markdown, self.ics, self.graph) if path is not None]

    def refuse_bad(self, inputs: list[Path], other_face: bool) -> None:
        """Refuse what cannot be written, before any work is done."""
        if self.fills_stdout and other_face:
            raise RefusedError(
                "--markdown - fills stdout; name a file for it, or leave out --json and --plain"
            )
        if self.graph is not None and self.graph.suffix.lower() not in DRAWN:
            raise RefusedError(f"{self.graph.name}: the graph is drawn as .svg or .dot; name such a file")
        for target in self.files:
            saving.refuse_bad_target(target, inputs)
        if len({path.resolve() for path in self.files}) < len(self.files):
            raise RefusedError("two papers would go to the same file")

    def refuse_undated(self, order: Order) -> None:
        """Refuse a calendar of an order without dates."""
        if self.ics is not None and any(wave.start is None for wave in order.waves):
            raise RefusedError(
                "a calendar needs dates: give --start, such as --start 2027-03-01, or 'start_date' under "
                "'windows' in the file"
            )

    def write(self, course: OrderInUse, order: Order) -> None:
        """Write them."""
        if self.ics is not None:
            stamp = datetime.now(UTC).replace(microsecond=0)
            saving.save(self.ics, calendar(course.site, order, stamp).decode("utf-8"))
        if self.graph is not None:
            draw = DRAWN[self.graph.suffix.lower()]
            saving.save(self.graph, draw(course.all_work(), order))
        if self.fills_stdout:
            output.write_text(_runbook(course, order))
        elif self.markdown is not None:
            saving.save(Path(self.markdown), _runbook(course, order))


def _runbook(course: OrderInUse, order: Order) -> str:
    return runbook(
        course.site, order, course.compared(), course.state_now() if course.progress.waves_done else None
    )
