"""What it saves that peaks do not coincide, in words; the part of the plan page that takes a second solve."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from planner.placement.studies.coincident_peaks import Peaks
from planner.report.common.figures import finite, number, plural, short
from planner.report.common.text import Line, heading, paragraph

TITLE = "Load by the hour"


@dataclass(frozen=True)
class PeaksEntry:
    """A plan's hosts, sound (as its aim), mean watts and money, and those of a plan for the sum of all peaks.

    ``possible``: whether there is one, None where that was not settled. ``proven``: both are the best.
    """

    hosts: int
    sound_db: float
    power_w: float
    outlay: float
    summed_hosts: int | None
    summed_sound_db: float | None
    summed_power_w: float | None
    summed_outlay: float | None
    possible: bool | None
    proven: bool
    words: str


def peaks_entry(peaks: Peaks | None, currency: str) -> PeaksEntry | None:
    """Round the comparison, and write it as a sentence; None where there is none."""
    if peaks is None:
        return None
    return PeaksEntry(
        peaks.hosts,
        round(peaks.sound_db, 1),
        round(peaks.power_w, 1),
        round(peaks.outlay, 2),
        peaks.summed_hosts,
        finite(peaks.summed_sound_db, 1),
        finite(peaks.summed_power_w, 1),
        finite(peaks.summed_outlay, 2),
        peaks.possible,
        peaks.proven,
        _words(peaks, currency),
    )


def peaks_lines(entry: PeaksEntry | None) -> list[Line]:
    """Set the comparison; nothing where there is none."""
    return [] if entry is None else [*heading(TITLE), *paragraph(entry.words)]


def peaks_facts(entry: PeaksEntry | None) -> list[Line]:
    """Set the comparison as a fact."""
    return [] if entry is None else paragraph(f"load by the hour: {entry.words}", indent="")


def _words(peaks: Peaks, currency: str) -> str:
    if peaks.summed_hosts is None or peaks.summed_power_w is None or peaks.summed_outlay is None:
        if peaks.possible is False:
            return "if all peaks came in one hour no plan could exist; hour by hour this one holds"
        return "what it saves that peaks do not coincide was not found before the search ended"
    parts = [
        _less((peaks.summed_sound_db or 0.0) - peaks.sound_db, lambda value: f"{short(value)} dB"),
        _less(peaks.summed_hosts - peaks.hosts, lambda value: plural(round(value), "host")),
        _less(peaks.summed_power_w - peaks.power_w, lambda value: f"{number(value)} W"),
        _less(peaks.summed_outlay - peaks.outlay, lambda value: f"{number(value)} {currency}"),
    ]
    said = [part for part in parts if part]
    doubt = "" if peaks.proven else " (against the best such plan found)"
    if not said:
        return f"peaks need not be told apart here: a plan for the sum of all peaks is as good{doubt}"
    return f"against a plan for the sum of all peaks, this one takes {', '.join(said)}{doubt}"


def _less(saved: float, words: Callable[[float], str]) -> str:
    """Write what is saved or comes on top; nothing for less than half a unit."""
    if abs(saved) < 0.5:
        return ""
    return f"{words(abs(saved))} {'less' if saved > 0.0 else 'more'}"
