"""How sure the levels are, what is heard in all, and how the room stands when something fails, as text."""

from __future__ import annotations

from collections.abc import Iterator

from planner.report.common.figures import MARK, level, listed, number, plural
from planner.report.common.text import Line, heading, paragraph
from planner.report.plan.page import FailureEntry, HearingEntry, InletEntry, PlanPage, PowerNote

LINEAR_WORDS = (
    "watts between idle and peak are taken as linear: 3 to 11 % of the peak off in nine published curves"
)
MANY_STARTS = 2
"""More power supplies than this on a circuit are started one after the other."""


def hearing(entries: tuple[HearingEntry, ...]) -> Iterator[Line]:
    """Set how sure the level at each listener is, and what it is good for."""
    yield from heading("How sure that is, and what is heard in all")
    for entry in entries:
        for words in hearing_words(entry):
            yield from paragraph(f"{entry.listener}: {words}", hang="  ")


def hearing_words(entry: HearingEntry) -> Iterator[str]:
    """Write what is known of a listener, a sentence each."""
    mark = MARK if entry.assumed else ""
    if entry.low_dba is None or entry.high_dba is None:
        yield "nothing sounds"
    else:
        yield f"between {number(entry.low_dba)} and {level(entry.high_dba)}{mark} in 9 of 10 such rooms"
    if entry.probability is not None:
        asked = "" if entry.confidence is None else f"; {number(100.0 * entry.confidence)} % were asked for"
        yield f"the target is met with a probability {_percent(entry.probability)}{asked}"
    if entry.calibrated:
        yield f"moved by {entry.offset_db:+.1f} dB to today's reading"
    yield _heard_words(entry)


def _percent(share: float) -> str:
    """Write a probability; nothing is certain."""
    if share >= 0.995:
        return "over 99 %"
    return "under 1 %" if share < 0.005 else f"of {number(100.0 * share)} %"


def _heard_words(entry: HearingEntry) -> str:
    edition = f"{entry.nc_edition} curves"
    if entry.background_spectrum_assumed:
        words = f"with the background {level(entry.total_dba)}, NC {number(entry.total_nc)}{MARK} ({edition})"
    else:
        words = f"the room alone is NC {number(entry.nc)} ({edition})"
    if entry.criterion is not None:
        verdict = "good enough" if entry.good_enough else "NOT good enough"
        use = f" ('{entry.use}')" if entry.use != entry.criterion else ""
        return f"{words}: {verdict} for {entry.criterion}{use}"
    return f"{words}: good enough for {listed(entry.good_for) or 'no use in the table'}"


def standing(page: PlanPage) -> Iterator[Line]:
    """Set the air at the inlets, and what comes when cooling or mains fail."""
    yield from heading("When something fails, and the air that machines breathe")
    for words in _standing_words(page):
        yield from paragraph(words, hang="  ")


def _standing_words(page: PlanPage) -> Iterator[str]:
    for item in page.failures:
        yield f"cooling fails in {item.season}: {failure_words(item)}"
    for inlet in page.inlets:
        yield f"air in {inlet.season}: {inlet_words(inlet)}"
    yield from power_words(page.power)


def failure_words(entry: FailureEntry) -> str:
    """Write how long the room takes to its alarm, and how warm it gets."""
    mark = MARK if entry.assumed else ""
    alarm = f"{number(entry.alarm_c)} °C"
    end = "without end" if entry.end_c is None else f"{number(entry.end_c)} °C{mark} in the end"
    if entry.minutes is None:
        return f"the alarm at {alarm} is not reached; {end}"
    span = f"{number(entry.soonest_min)} to {number(entry.latest_min)}"
    return f"{alarm} after about {number(entry.minutes)} min{mark} ({span}); {end}"


def inlet_words(entry: InletEntry) -> str:
    """Write how the air stands to the recommended and the allowed limits (ASHRAE TC 9.9, 2021)."""
    dew = "" if entry.dew_point_c is None else f", dew point {number(entry.dew_point_c)} °C"
    words = f"{number(entry.temperature_c)} °C{dew}"
    if entry.recommended:
        return f"{words}, as recommended"
    allowed = f"allowed for {entry.equipment}" if entry.allowed else f"NOT allowed for {entry.equipment}"
    return f"{words}, {allowed}; {'; '.join(entry.reasons)}"


def power_words(note: PowerNote) -> Iterator[str]:
    """Write how good the watts are, what the UPS carries, and what must not start at once."""
    yield LINEAR_WORDS
    if note.ups_load_w > 0.0:
        lasts = "its batteries are not known" if note.ups_minutes is None else _lasts(note.ups_minutes)
        yield f"the UPS carries {number(note.ups_load_w)} W; {lasts}"
    for circuit, count, most_a in note.starts:
        if count > MANY_STARTS:
            things = plural(count, "power supply", "power supplies")
            words = f"{circuit}: {things} may draw {number(most_a)} A{MARK} for some milliseconds when they "
            yield f"{words}start at once: start them one after the other"


def _lasts(minutes: float) -> str:
    return f"it lasts about {number(minutes)} min, less with old batteries"


def facts(page: PlanPage) -> Iterator[str]:
    """Write the same with one fact a line."""
    for entry in page.hearing:
        for words in hearing_words(entry):
            yield _plain(f"listener {entry.listener}: {words}")
    for words in _standing_words(page):
        yield _plain(words)


def _plain(words: str) -> str:
    return f"{words.replace(MARK, '')} (assumed)" if MARK in words else words
