"""Editing in place: one value changes, everything else stays to the letter."""

from __future__ import annotations

import difflib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.inventory import load
from planner.inventory.edit import Draft, EditError, open_draft
from planner.inventory.reader import parse, read_text
from tests.inventory.base import EXAMPLES, SMALL

OFFICE = read_text(EXAMPLES / "small-office.yaml")
SCALARS = [path for path, place in parse(OFFICE, "m").places.items() if place.scalar]


def draft(text: str) -> Draft:
    """Give a draft that no file stands behind."""
    return Draft(Path("site.yaml"), text, text)


@settings(deadline=None, max_examples=40)  # each example reads a whole file, twice
@given(
    st.sampled_from(SCALARS), st.text(st.characters(categories=["L", "N", "P", "S"]), min_size=1, max_size=20)
)
def test_one_edit_changes_one_value(path: tuple[str | int, ...], written: str) -> None:
    """Whatever is written, the file reads back with that value and no other changed, on one line."""
    after = draft(OFFICE).change(path, written).text
    before_lines, after_lines = OFFICE.split("\n"), after.split("\n")
    assert len(before_lines) == len(after_lines)
    assert sum(old != new for old, new in zip(before_lines, after_lines, strict=True)) <= 1
    old, new = parse(OFFICE, "m"), parse(after, "m")
    assert list(old.places) == list(new.places)


@settings(deadline=None, max_examples=40)  # each example reads a whole file, twice
@given(st.sampled_from(SCALARS))
def test_undo_after_do_is_nothing(path: tuple[str | int, ...]) -> None:
    """Writing the old text back gives the old file, to the letter."""
    before = draft(OFFICE)
    old = before.value(path)
    if not old.startswith(('"', "'")):
        assert before.change(path, "something else").change(path, old).text == OFFICE


def test_comments_order_and_spacing_stay(tmp_path: Path) -> None:
    """Saving differs from the file before in one line."""
    path = tmp_path / "m.yaml"
    path.write_text(OFFICE, encoding="utf-8")
    saved = open_draft(path).change(("policy", "budget"), "5000").save()
    lines = list(difflib.ndiff(OFFICE.splitlines(), path.read_text(encoding="utf-8").splitlines()))
    assert [line for line in lines if line[0] in "+-"] == ["-   budget: 3400", "+   budget: 5000"]
    assert not saved.changed
    assert load(path).site.policy.budget == 5000.0


@pytest.mark.parametrize(
    "written", ["a: b", "#1", "[x", "{y}", "a, b", "'", '"', "*x", "- z", "yes", "12", "[/x]"]
)
def test_what_yaml_would_misread_is_quoted(written: str) -> None:
    """A name stays the name that was typed, or means what it would mean in the file."""
    after = draft("site: {name: old, currency: EUR}\n").change(("site", "name"), written).text
    value = parse(after, "s").data["site"]["name"]
    assert value == {"yes": True, "12": 12}.get(written, written)
    assert after.endswith(", currency: EUR}\n")


def test_letters_beyond_ascii_and_windows_line_ends_do_not_shift_the_place() -> None:
    """Marks count characters: a byte order mark, wide letters and line ends before the value do no harm."""
    text = "\ufeffsite:\r\n  name: Ä😀ß   # größe\r\n  currency: EUR # x\r\n"
    after = draft(text).change(("site", "currency"), "CHF").text
    assert after == text.replace("EUR", "CHF")


def test_a_value_left_blank_can_be_filled() -> None:
    """Nothing stands after the colon, so a blank comes before the value."""
    assert draft("site:\n  name:\n").change(("site", "name"), "Quay").text == "site:\n  name: Quay\n"


@pytest.mark.parametrize(
    ("path", "written", "words"),
    [
        (("boxes", "elm", "memory"), "1 GiB", "there is no such value"),
        (("boxes", "oak"), "1 GiB", "not a single value"),
        (("boxes", "oak", "memory"), "1\nGiB", "cannot be written"),
    ],
)
def test_what_cannot_be_changed_is_refused(path: tuple[str, ...], written: str, words: str) -> None:
    """The refusal says why."""
    with pytest.raises(EditError, match=words):
        draft(SMALL).change(path, written)


def test_a_file_changed_underneath_is_not_overwritten(tmp_path: Path) -> None:
    """Somebody else's change stays; nothing is left beside the file."""
    path = tmp_path / "site.yaml"
    path.write_text(SMALL, encoding="utf-8")
    mine = open_draft(path).change(("boxes", "oak", "memory"), "32 GiB")
    path.write_text(SMALL + "# theirs\n", encoding="utf-8")
    with pytest.raises(EditError, match="changed by somebody else"):
        mine.save()
    assert path.read_text(encoding="utf-8") == SMALL + "# theirs\n"
    assert [each.name for each in tmp_path.iterdir()] == ["site.yaml"]


def test_saving_keeps_mode_and_link(tmp_path: Path) -> None:
    """A link stays a link, and permissions stay as they are."""
    real, link = tmp_path / "real.yaml", tmp_path / "link.yaml"
    real.write_text(SMALL, encoding="utf-8")
    real.chmod(0o640)
    link.symlink_to(real)
    open_draft(link).change(("boxes", "oak", "memory"), "32 GiB").save()
    assert link.is_symlink()
    assert real.stat().st_mode & 0o777 == 0o640
    assert "32 GiB" in real.read_text(encoding="utf-8")


def test_a_key_is_added_at_the_end_of_its_mapping() -> None:
    """In brackets before the closing one, else on a line of its own below the last, comments kept."""
    text = "a:\n  x: 1   # one\n  y: {p: [1, 2]}\n\n# about b\nb: {q: 1}\nc: {}\n"
    added = (
        draft(text).add(("a", "z"), "32 GiB").add(("b", "r"), "a, b").add(("c", "s"), "no").add(("d",), "5")
    )
    assert added.text == (
        "a:\n  x: 1   # one\n  y: {p: [1, 2]}\n  z: 32 GiB\n\n# about b\n"
        'b: {q: 1, r: "a, b"}\nc: {s: no}\nd: 5\n'
    )


@settings(deadline=None, max_examples=40)  # each example reads a whole file, twice
@given(st.sampled_from([path for path, place in parse(OFFICE, "m").places.items() if not place.scalar]))
def test_adding_a_key_leaves_the_rest_as_it_is(path: tuple[str | int, ...]) -> None:
    """Every mapping of a real file takes a new key, and every old line stays but at most one."""
    tree = parse(OFFICE, "m")
    if any(child[:-1] == path and isinstance(child[-1], int) for child in tree.places if child):
        with pytest.raises(EditError):
            draft(OFFICE).add((*path, "new"), "1")
        return
    after = draft(OFFICE).add((*path, "new"), "1").text
    missing = [line for line in difflib.ndiff(OFFICE.splitlines(), after.splitlines()) if line[0] == "-"]
    assert len(missing) <= 1
    assert (*path, "new") in parse(after, "m").places


def test_a_key_that_is_there_is_not_added_again() -> None:
    """Its value is to be changed instead."""
    with pytest.raises(EditError, match="there already"):
        draft(SMALL).add(("boxes", "oak", "memory"), "1 GiB")
