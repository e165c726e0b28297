"""The runbook: what stands in it, by the clock, and that Markdown readers show it as it is meant."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime
from itertools import pairwise

import pytest
from markdown_it import MarkdownIt
from markdown_it.token import Token

from planner.domain.order import Sort
from planner.domain.rules import Windows
from planner.moves import order
from planner.moves.documents.runbook import runbook
from planner.moves.tasks.readings import Reading
from planner.moves.tracking.comparison import all_compared
from tests.kit.sites import plain_site
from tests.moves.documents.test_documents import a_schedule, a_site
from tests.moves.kit import onto_host, service, site_with
from tests.verify.clinic import TODAY


def tokens(text: str) -> list[Token]:
    """Read Markdown with an outside reader: CommonMark with tables."""
    return MarkdownIt("commonmark").enable("table").parse(text)


def shown(text: str) -> str:
    """Write the words that a reader of the Markdown sees, a line for each block."""
    inlines = (token.children or [] for token in tokens(text) if token.type == "inline")
    return "\n".join("".join(child.content for child in children) for children in inlines)


def test_every_task_check_caution_and_way_back_is_there() -> None:
    """Boxes for tasks, what holds before and after, and the way back; cautions and deadlines as words."""
    found = a_schedule().order
    text = shown(runbook(a_site(), found))
    for wave in found.waves:
        for task in wave.tasks:
            assert task.text in text
            assert all(f"[ ] {check}" in text for check in task.done_when)
            if task.sort is not Sort.RETIRE:
                assert f"[ ] {task.rollback}" in text or not task.rollback
        assert all(f"[ ] {check}" in text for check in wave.go_no_go)
        if wave.moves:
            records = "name record lives" if len(wave.moves) == 1 else "name records live"
            assert f"the {records} 300 s at most, since one old time to live: {', '.join(wave.moves)}" in text
    assert (
        "load of mail sampled for 2 to 4 weeks: not over 1 reference cores, 8 GiB of memory, 100 GB of disk"
        in text
    )
    assert "data loss: Restore a backup for real before each cutover" in text
    assert "After this wave there is no way back to alder, birch." in text
    assert text.count("Begun at ______ by ______") == len(found.waves)
    assert text.count("It spends 1,500 EUR.") == 1


def test_nothing_is_asked_before_a_wave_that_only_the_wave_can_bring() -> None:
    """Go or no-go stands before the steps, and no check of a done step is among it."""
    for wave in a_schedule().order.waves:
        after = {check for task in wave.tasks for check in task.done_when}
        assert not after & {*wave.go_no_go}


def test_steps_begin_by_the_clock_even_where_it_leaps() -> None:
    """On the 28th of March the clock leaps from 2 to 3: 0.5 h backup from 01:00, 1.25 h move from 01:30."""
    text = shown(runbook(a_site(), a_schedule().order))
    assert "[ ] 01:00 Back up records-db" in text
    assert "[ ] 01:30 Convert records-db" in text
    assert "[ ] 03:45 Back up mail" in text
    # the window ends at 10:00 summer time, the way back of each service takes 0.25 h
    back = {0.25: "09:45", 0.5: "09:30", 0.75: "09:15"}
    wave = next(w for w in a_schedule().order.waves if w.start == datetime(2027, 3, 28, 0, 0, tzinfo=UTC))
    last = back[0.25 * len(wave.moves)]
    assert f"Turn back at {last} at the latest: it takes {wave.way_back_h:.2g} h." in text


def test_without_dates_steps_count_from_the_start_and_a_crew_has_no_clock() -> None:
    """Nobody knows when a step of several people begins."""
    site = plain_site()
    text = shown(runbook(site, order(site, onto_host(site))))
    assert "[ ] +0:00 Bring in host-1" in text
    assert "[ ] +1:00 Install host-1" in text
    crew = replace(site, windows=Windows(crew=2))
    assert "[ ] Bring in host-1" in shown(runbook(crew, order(crew, onto_host(crew))))


def test_a_start_says_what_the_breaker_must_bear() -> None:
    """1150 W today and 120 W of the host, half of alder's 200 W for a start, 16 A at 230 V."""
    site = plain_site()
    text = shown(runbook(site, order(site, onto_host(site))))
    assert "old and new draw up to 1270 W (2944 W are allowed for hours), while one starts 1370 W" in text
    assert "the breaker bears 3680 W" in text


def test_the_markdown_is_read_as_it_is_meant() -> None:
    """A chapter a wave, all rows of a table as wide as its head, no raw HTML, steps with boxes under them."""
    found = a_schedule().order
    read = tokens(runbook(a_site(), found))
    heads = [
        inside.content
        for token, inside in pairwise(read)
        if token.type == "heading_open" and token.tag == "h2"
    ]
    assert heads == [f"Wave {wave.number}: {wave.name}" for wave in found.waves]
    assert not [token for token in read if token.type.startswith("html")]
    widths: list[list[int]] = []
    for token in read:
        if token.type == "table_open":
            widths.append([])
        elif token.type == "tr_open":
            widths[-1].append(0)
        elif token.type in ("th_open", "td_open"):
            widths[-1][-1] += 1
    assert len(widths) >= 2 + 2 * len(found.waves)
    assert all(len(set(rows)) == 1 and len(rows) > 1 for rows in widths)
    deepest = max(token.level for token in read if token.type == "list_item_open")
    assert deepest == 3


def test_what_is_done_already_is_where_it_starts_from() -> None:
    """The first row of the overview is the room as it is now."""
    site = plain_site()
    found = order(site, onto_host(site))
    rest = replace(found, waves=found.waves[2:])
    text = runbook(site, rest, before=found.waves[1].state_after)
    level = found.waves[1].ledger.levels_dba["desk"]
    assert re.search(rf"^\| now \|  \| {level:.0f} dBA \|", text, re.MULTILINE)


def test_names_do_not_break_the_runbook() -> None:
    """A service called like Markdown or HTML is shown as it is called."""
    name = "[x](y) <b>*|*~&amp;$"
    site = site_with(service(name), service("wiki"))
    text = runbook(site, order(site, onto_host(site)))
    assert f"Back up {name} on alder in full" in shown(text)
    assert not [token for token in tokens(text) if "html" in token.type]


def test_readings_so_far_stand_before_the_waves_that_are_left() -> None:
    """With the table and what a difference means."""
    site = plain_site()
    reading = Reading(
        0, (), datetime(2027, 3, 1, tzinfo=UTC), (("desk", 90.0),), 900.0, 24.0, note="door shut"
    )
    read = all_compared(site, {0: TODAY}, {0: reading}, TODAY)
    text = shown(runbook(site, order(site, onto_host(site)), read))
    assert "Before the first wave, taken for summer (door shut):" in text
    assert "one more source would have to bring" in text
    assert text.index("Read so far") < text.index("Wave 1: ")


@pytest.mark.parametrize("season", ["summer", "winter"])
def test_what_is_to_be_read_has_a_band_and_a_space(season: str) -> None:
    """For each wave every listener, the draw and the room."""
    text = runbook(a_site(), a_schedule().order)
    assert text.count(f"In {season} (band)") == len(a_schedule().order.waves)
    rows = re.findall(
        r"^\| (desk|reception|draw|room)[^|]*\|(.*)\| ______ (dBA|W|°C) \|$", text, re.MULTILINE
    )
    assert len(rows) == 4 * len(a_schedule().order.waves)
    assert "--done 2 --reading 2 --dba desk=… --dba reception=… --watts … --celsius …" in text
    assert "- [ ] what was read after wave 1 lies within its bands, or is explained" in text


def test_who_hangs_on_a_service_is_told_that_it_is_down() -> None:
    """At any remove, and in a ring only once."""
    site = site_with(
        service("db", depends_on=("app",)),
        service("app", depends_on=("db",)),
        service("page", depends_on=("app",)),
    )
    text = shown(runbook(site, order(site, onto_host(site))))
    assert "users of db and of app and of page know that it is down from about" in text
    assert "users of page know that it is down" in text
