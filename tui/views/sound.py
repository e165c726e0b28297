"""Sound: what each source brings to a listener, loudest first, today and then, as bars; and the ladder."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from planner.domain.site import Site
from planner.ledger import Ledger, SeasonLedger
from planner.report.common.figures import level, marked, number
from planner.report.common.text import Line, Piece, heading, line, pad, paragraph
from planner.report.plan.page import ListenerEntry
from planner.report.quiet.page import QuietPage
from planner.report.quiet.text import doing, money_words
from tui.session import Session
from tui.solving.planned import Planned
from tui.theme import cut

NAME_WIDTH = 20
LEVEL_WIDTH = 9
SPAN_DB = 50.0
EIGHTHS = " ▏▎▍▌▋▊▉█"


@dataclass(frozen=True)
class SourceBar:
    """A source's level at a listener today and then, dBA; None where it does not sound."""

    name: str
    sort: str
    today_dba: float | None
    then_dba: float | None
    assumed: bool

    @property
    def loudest(self) -> float:
        """The louder of the two, for the order."""
        return max((value for value in (self.today_dba, self.then_dba) if value is not None), default=-999.0)


def season_at(site: Site, book: Ledger, listener: str) -> SeasonLedger:
    """Find the quiet season in which a listener hears most, as the levels of a ledger are taken."""
    quiet = [book.season(season.name) for season in site.seasons if season.quiet] or list(book.seasons)
    return max(quiet, key=lambda entry: entry.levels_dba[listener])


def source_bars(planned: Planned, listener: str) -> list[SourceBar]:
    """List every source at a listener, the loudest today first, then the new ones."""
    site = planned.site
    today = {item.name: item for item in season_at(site, planned.today, listener).sources}
    then = {item.name: item for item in season_at(site, planned.then, listener).sources}
    bars = [
        SourceBar(
            name,
            (today.get(name) or then[name]).sort,
            today[name].levels_dba[listener] if name in today else None,
            then[name].levels_dba[listener] if name in then else None,
            (then.get(name) or today[name]).assumed,
        )
        for name in dict.fromkeys([*today, *then])
    ]
    return sorted(bars, key=lambda bar: (-bar.loudest, bar.name))


def bar_text(value: float | None, top: float, width: int) -> str:
    """Draw a level as a bar: full at ``top``, empty 50 dB below it."""
    if value is None or width < 1:
        return ""
    filled = max(0.0, min(1.0, (value - (top - SPAN_DB)) / SPAN_DB)) * width
    whole, rest = int(filled), int((filled - int(filled)) * 8)
    return "█" * whole + (EIGHTHS[rest] if rest else "")


def sound_lines(session: Session, listener: str, width: int) -> list[Line]:
    """Set the place: the listener's sum, its sources as bars, and the ladder."""
    planned = session.planned
    if planned is None:
        return [line(f"{listener}: no plan yet", "dim")]
    entry = next((item for item in planned.page.listeners if item.listener == listener), None)
    if entry is None:
        return [line(f"{listener}: not in the plan at hand yet", "dim")]
    bars = source_bars(planned, listener)
    room = max(6, (width - NAME_WIDTH - 2 * LEVEL_WIDTH - 4) // 2)
    top = max((bar.loudest for bar in bars), default=0.0)
    lines = [*_sums(entry), line(), _heads(room)]
    lines += [_bar_line(bar, top, room) for bar in bars]
    afterwork = session.afterwork
    return [*lines, *ladder_lines(afterwork.quiet if afterwork is not None else None)]


def _sums(entry: ListenerEntry) -> Iterator[Line]:
    target = "no target set" if entry.met is None else f"target {level(entry.target_dba)}"
    words = "" if entry.met is None else (", ✔ met" if entry.met else ", ✖ NOT met")
    style = {None: "", True: "good", False: "bad"}[entry.met]
    today, then = level(entry.before_dba), level(entry.after_dba)
    yield line(f"{entry.listener}: {today} today, {then} then, {target}{words}", style or "head")
    leads = f"loudest today {entry.leading_before or 'nothing'}, then {entry.leading_after or 'nothing'}"
    yield line(f"{leads}  (v: next listener)", "dim")


def _heads(room: int) -> Line:
    today, then = pad("today", room + LEVEL_WIDTH + 2), "then"
    return line(f"{pad('', NAME_WIDTH + 1)}{today}{then}", "dim")


def _bar_line(bar: SourceBar, top: float, room: int) -> Line:
    name = cut(marked(bar.name, bar.assumed), NAME_WIDTH).plain
    before = pad(bar_text(bar.today_dba, top, room), room)
    after = pad(bar_text(bar.then_dba, top, room), room)
    gone = "gone" if bar.then_dba is None else level(bar.then_dba)
    new = "new" if bar.today_dba is None else level(bar.today_dba)
    return Line(
        (
            Piece(f"{pad(name, NAME_WIDTH)} "),
            Piece(before, "doubt"),
            Piece(f" {pad(new, LEVEL_WIDTH)} "),
            Piece(after, "good"),
            Piece(f" {gone}"),
        )
    )


def ladder_lines(page: QuietPage | None) -> list[Line]:
    """Set the ladder from the plan's machines, loudest first."""
    lines = heading("Ladder from the plan's machines, loudest first")
    if page is None:
        return [*lines, line("  being worked out", "dim")]
    for rung in page.rungs:
        lines += paragraph(f"{rung.number}. {doing(rung)}", hang="   ")
        drops = "; ".join(
            f"{item.listener} {number(item.before_dba)} -> {level(item.after_dba)}" for item in rung.levels
        )
        lines += paragraph(f"{drops}; {money_words(page, rung)}", indent="     ", style="dim")
    return [*lines, *paragraph(f"It ends here: {page.stopped_by}.")]
