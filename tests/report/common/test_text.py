"""Lines, tables and figures: safe to print, aligned, and never finer than can be foretold."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.inventory.text.errors import is_unsafe
from planner.report.common import figures, text
from planner.report.common.text import Cell, Line, Piece
from planner.report.plan import plain as plan_plain
from planner.report.plan import text as plan_text
from planner.report.plan.build import plan_page
from tests.report.examples import plain_plan

NASTY = "[/red]\x1b[31m\u202eevil\x07\x9b"


@given(st.text())
def test_clean_text_steers_no_terminal(letters: str) -> None:
    """Whatever goes in, no control character and no direction mark comes out."""
    assert not any(is_unsafe(letter) for letter in text.clean(letters))


@given(st.text(), st.sampled_from(["", *text.STYLES]))
def test_painted_without_colour_has_no_escape(letters: str, style: str) -> None:
    """Without colour there is not one escape code, with colour only our own."""
    lines = [Line((Piece(letters, style),))]
    assert "\x1b" not in text.paint(lines, colour=False)
    code = text.STYLES.get(style, "")
    own = text.paint(lines, colour=True).replace(f"\x1b[{code}m", "").replace("\x1b[0m", "")
    assert "\x1b" not in own


def test_table_stands_in_columns() -> None:
    """Columns are as wide as their widest cell, numbers stand to the right, the last cell wraps."""
    rows = [
        (Cell("a"), Cell("1", right=True), Cell("short")),
        (Cell("long"), Cell("1,000", right=True), Cell("word " * 20)),
    ]
    lines = text.paint(text.table(rows), colour=False).splitlines()
    assert lines[0] == "  a         1  short"
    assert lines[1].startswith("  long  1,000  word word")
    assert lines[2].startswith(" " * 15 + "word")
    assert max(map(len, lines)) <= text.WIDTH


def test_wide_letters_count_double() -> None:
    """Letters of two columns (East Asian Width W) are padded and wrapped as such; an accent takes none."""
    assert text.pad("日本", 5) == "日本 "
    assert text.pad("e\u0301", 2) == "e\u0301 "
    assert text.wrap("日本 日本 ab", 6, "- ", "  ") == ["- 日本", "  日本", "  ab"]
    assert text.wrap("日本日本日本", 4) == ["日本"] * 3


def test_a_word_longer_than_a_line_is_cut() -> None:
    assert text.wrap("a bcdefgh", 4) == ["a", "bcde", "fgh"]
    assert text.wrap("   ", 4) == []


@pytest.mark.parametrize(
    ("value", "written"),
    [(None, "silent"), (float("-inf"), "silent"), (41.49, "41 dBA"), (41.5, "42 dBA"), (-0.2, "0 dBA")],
)
def test_levels_are_whole_numbers(value: float | None, written: str) -> None:
    """A level is written as whole dBA."""
    assert figures.level(value) == written


def test_numbers() -> None:
    """Thousands are marked, there is no minus zero, and what is not finite is no number."""
    assert figures.number(1234567.4) == "1,234,567"
    assert figures.number(-0.3) == "0"
    assert figures.number(float("nan")) == "none"
    assert figures.signed(3.6) == "+4"
    assert figures.listed(["a", "b", "c"]) == "a, b and c"


def test_names_from_a_file_are_harmless_on_every_face() -> None:
    """A site with markup and escape codes in its name is shown with them written out."""
    site, plan = plain_plan()
    page = plan_page(replace(site, name=NASTY), plan)
    for lines in (plan_text.plan_lines(page), plan_plain.plan_plain(page)):
        for colour in (False, True):
            shown = text.paint(lines, colour=colour)
            assert "[/red]\\u001b[31m\\u202eevil\\u0007\\u009b" in shown
            assert not set(shown) & {"\x07", "\x9b", "\u202e"}
        assert "\x1b" not in text.paint(lines, colour=False)


def test_plan_page_fits_80_columns() -> None:
    """The text of the hand-made plan is no wider than a terminal."""
    shown = text.paint(plan_text.plan_lines(plan_page(*plain_plan())), colour=False)
    assert max(map(len, shown.splitlines())) <= text.WIDTH


def test_each_fact_is_on_both_faces() -> None:
    """Every service, box, purchase and caution of the page is on the text and on the plain face."""
    page = plan_page(*plain_plan())
    wide = text.paint(plan_text.plan_lines(page), colour=False)
    plain = text.paint(plan_plain.plan_plain(page), colour=False)
    names = [entry.service for entry in page.verdicts] + [entry.box for entry in page.boxes]
    names += [entry.what for entry in page.shopping] + [entry.listener for entry in page.listeners]
    for name in names:
        assert name in wide
        assert name in plain
    assert all(f"caution: {entry.text}" in plain for entry in page.cautions)
    for words in ("Saved by consolidation", "Saved by measures and cooling", "Payback", "Proof", "±5 dB"):
        assert words in wide


def test_what_stopped_a_search_reads_well() -> None:
    """A person who stops a search is told so; anything else is named."""
    assert plan_text.outcome_words("stopped with a plan", "interrupted").endswith("(stopped by you)")
    assert plan_text.outcome_words("stopped with a plan", "time limit").endswith("(stopped by time limit)")
