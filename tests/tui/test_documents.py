"""Edits of an inventory's text: what was asked changes, and nothing else does."""

from __future__ import annotations

import difflib
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from planner.inventory import load_text
from planner.inventory.editing import Document, EditError, add_rule, bare_scalar, flow, text_scalar
from planner.inventory.text.errors import is_unsafe

SMALL = Path(__file__).resolve().parents[2] / "inventories" / "small-office.yaml"
TEXT = SMALL.read_text(encoding="utf-8")
PLAIN = """# top
site: {name: here}   # a name

things:              # what there is
  one: {a: 1, b: [x, y]}   # first
  # about two
  two:
    a: 2
    note: |
      long
      text

  three: {a: 3}
lists:
  block:
    - one
    - {a: 1}   # last
  short: [p]
empty:
"""


def document(text: str = PLAIN) -> Document:
    """Make a document of a text."""
    return Document.of(text, "test.yaml")


def changed_lines(old: str, new: str) -> list[str]:
    """List the lines that differ, with their sign, in order."""
    lines = difflib.ndiff(old.splitlines(), new.splitlines())
    return [line for line in lines if line[:1] in "+-"]


def test_a_scalar_is_replaced_in_its_place() -> None:
    """The comment behind the value stays."""
    made = document().set_value(("things", "one", "a"), "7")
    assert changed_lines(PLAIN, made.text) == [
        "-   one: {a: 1, b: [x, y]}   # first",
        "+   one: {a: 7, b: [x, y]}   # first",
    ]


def test_a_key_goes_into_brackets_on_the_same_line() -> None:
    """A service written on one line stays on one line."""
    made = document().insert_key(("things", "one"), "c", text_scalar("why: not"))
    assert changed_lines(PLAIN, made.text)[1:] == ['+   one: {a: 1, b: [x, y], c: "why: not"}   # first']


def test_a_key_goes_below_a_block_as_one_line() -> None:
    """A service written over lines gets one line more, before the empty line that follows it."""
    made = document().insert_key(("things", "two"), "c", "5")
    assert changed_lines(PLAIN, made.text) == ["+     c: 5"]
    assert "      text\n    c: 5\n\n  three" in made.text


@pytest.mark.parametrize("path", [("things", "one"), ("things", "two"), ("things", "three"), ("lists",)])
def test_what_is_removed_takes_its_lines_and_no_more(path: tuple[str, ...]) -> None:
    """Nothing is added, and every comment outside the entry stays."""
    made = document().remove(path)
    assert all(line.startswith("-") for line in changed_lines(PLAIN, made.text))
    assert "# about two" in made.text
    assert not made.has(path)


def test_the_last_of_a_holder_leaves_brackets() -> None:
    """A section never becomes empty text, which would read as nothing."""
    made = document().remove(("lists", "short", 0))
    assert made.get(("lists", "short")) == []


def test_a_copy_stands_below_its_model() -> None:
    """A copy keeps form and comment of its model."""
    made = document().copy(("things", "one"), "four")
    assert changed_lines(PLAIN, made.text) == ["+   four: {a: 1, b: [x, y]}   # first"]
    assert list(made.data["things"]) == ["one", "four", "two", "three"]


def test_an_entry_is_added_in_the_manner_of_the_one_above() -> None:
    """After a line comes a line, after a block a block."""
    made = document().add("things", "four", {"a": "4"})
    assert changed_lines(PLAIN, made.text) == ["+   four: {a: 4}"]
    blocks = document().remove(("things", "three")).add("things", "four", {"a": "4"})
    assert "  four:\n    a: 4\n" in blocks.text


def test_an_empty_section_is_filled() -> None:
    """A key without a value takes its first entry."""
    assert document().insert_key(("empty",), "a", "1").get(("empty",)) == {"a": 1}
    assert document().add("fresh", "a", {"b": "1"}).text.endswith("\nfresh:\n  a: {b: 1}\n")


def test_lists_grow_at_their_end() -> None:
    """Block lists get a line, short ones a word."""
    made = document().append(("lists", "block"), "two").append(("lists", "short"), "q")
    assert changed_lines(PLAIN, made.text) == ["+     - two", "-   short: [p]", "+   short: [p, q]"]


def test_a_rule_is_added_with_the_sections_it_needs() -> None:
    """The first rule of a file brings its sections; the next is one line."""
    first = add_rule(document(), "apart", {"services": ["a", "b"], "because": "they must"})
    assert first.text.endswith("\nrules:\n  apart:\n    - {services: [a, b], because: they must}\n")
    second = add_rule(first, "apart", {"services": ["c", "d"], "because": "too"})
    assert changed_lines(first.text, second.text) == ["+     - {services: [c, d], because: too}"]
    other = add_rule(second, "together", {"services": ["c", "e"], "because": "so"})
    assert len(other.get(("rules", "apart"))) == 2
    assert other.get(("rules", "together")) == [{"services": ["c", "e"], "because": "so"}]


def test_a_deep_value_is_put_where_nothing_stood() -> None:
    """Sections that are missing are made on the way."""
    made = document().put(("policy", "headroom", "cpu"), "25 %")
    assert made.get(("policy", "headroom", "cpu")) == "25 %"
    assert made.text.startswith(PLAIN)


def test_windows_line_breaks_and_a_byte_order_mark_stay() -> None:
    """A file from another system keeps its manner."""
    text = "\ufeff" + PLAIN.replace("\n", "\r\n")
    made = Document.of(text, "x").insert_key(("things", "two"), "c", "5")
    assert made.whole == text.replace("      text\r\n", "      text\r\n    c: 5\r\n")


def test_an_edit_that_would_touch_more_is_refused() -> None:
    """A value that would break out of its place changes nothing."""
    with pytest.raises(EditError):
        document().set_value(("things", "one", "a"), "1, z: 2")
    with pytest.raises(EditError):
        document().set_value(("things", "nine"), "1")


@pytest.mark.parametrize("service", ["print-server", "job-database", "nightly-backup"])
def test_staying_physical_is_one_line_of_the_example(service: str) -> None:
    """Written on a line or as a block, a service gets its reason in one line."""
    made = document(TEXT).put(("services", service, "stay_physical"), text_scalar("its card is no guest's"))
    changed = changed_lines(TEXT, made.text)
    assert len([line for line in changed if line.startswith("+")]) == 1
    assert load_text(made.text, SMALL).site.service[service].physical == "its card is no guest's"


def test_every_value_of_the_example_can_be_set_to_itself() -> None:
    """Setting a value to what it is changes not one character."""
    start = document(TEXT)
    for name, service in start.data["services"].items():
        for key, value in service.items():
            if isinstance(value, str):
                assert start.set_value(("services", name, key), text_scalar(value)).text == TEXT


LETTERS = st.characters(exclude_categories=("Cs", "Cc", "Zl", "Zp")).filter(lambda one: not is_unsafe(one))
ANY_TEXT = st.text(LETTERS, min_size=1, max_size=30)


@example("-")
@example("?")
@given(ANY_TEXT)
def test_any_text_reads_back_as_itself(text: str) -> None:
    """Whatever a person types as a reason is found again as that reason."""
    made = document().put(("things", "one", "why"), text_scalar(text))
    assert made.get(("things", "one", "why")) == text
    assert made.remove(("things", "one", "why")).text == PLAIN


def test_what_turns_the_direction_of_text_is_refused() -> None:
    """A character that would make a line read otherwise than it is written is not taken, and is named."""
    with pytest.raises(EditError, match=r"U\+202A"):
        document().put(("things", "one", "why"), text_scalar("left \u202a right"))


@given(ANY_TEXT)
def test_any_typed_figure_stays_one_value(text: str) -> None:
    """What is typed for a figure never breaks out of its place."""
    made = document().set_value(("things", "one", "a"), bare_scalar(text))
    assert isinstance(made.get(("things", "one", "a")), str | int | float | bool)


@given(st.dictionaries(ANY_TEXT, st.one_of(ANY_TEXT, st.booleans(), st.integers(-999, 999)), max_size=3))
def test_a_mapping_on_one_line_reads_back(data: dict[str, str | bool | int]) -> None:
    """Names, words and figures survive being written in brackets."""
    made = document().set_value(("things", "three"), flow(data))
    assert made.get(("things", "three")) == data
