"""Files that are no inventory at all: each is one clear mistake, never a traceback."""

from __future__ import annotations

import contextlib
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.inventory import InventoryError, load
from planner.inventory.text.yaml_tree import MAX_BYTES
from tests.inventory.base import EXAMPLES, SMALL, changed, load_text, problems_of


@pytest.mark.parametrize(
    ("content", "words", "line"),
    [
        (b"", "the file is empty", None),
        (b"  \n\n", "the file is empty", None),
        (b"# only a comment\n", "holds no data", 1),
        (b"room:\n  size: \x00\n", "a binary file", None),
        (b"room:\n  name: caf\xe9\n", "not UTF-8", 2),
        (b"- a\n- b\n", "must hold sections", 1),
        (b"just words\n", "must hold sections", 1),
        (b"room:\n\tsize: 3\n", "a tab stands in the indentation", 2),
        (b"room: {size: 3\nboxes: [\n", "cannot be read", 2),
        (b"room: 1\n---\nroom: 2\n", "a second document", 2),
        (b"? [a, b]\n: 1\n", "a key must be a plain name", 1),
        (b"room: " + b"[" * 100 + b"]" * 100, "nested more than", 1),
        (b"room: " + b"[" * 5000, "cannot be read", 1),
        (b"room: \x1b[2J\n", "cannot be read", 1),
    ],
)
def test_what_is_no_inventory_is_refused(
    tmp_path: Path, content: bytes, words: str, line: int | None
) -> None:
    """One mistake, with its line where there is one."""
    problems = problems_of(tmp_path, content)
    assert words in problems[-1].message
    assert problems[-1].line == line
    assert len(problems) == 1


def test_a_directory_is_refused(tmp_path: Path) -> None:
    """The person is told to name the file in it."""
    with pytest.raises(InventoryError, match="this is a directory"):
        load(tmp_path)


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    """The person is told what was looked for."""
    with pytest.raises(InventoryError, match="no such file"):
        load(tmp_path / "absent.yaml")


def test_a_huge_file_is_refused_before_it_is_read(tmp_path: Path) -> None:
    """A sparse file of 50 MB costs nothing to refuse."""
    path = tmp_path / "huge.yaml"
    with path.open("wb") as stream:
        stream.truncate(50_000_000)
    with pytest.raises(InventoryError, match="larger than 4 MiB"):
        load(path)
    assert MAX_BYTES < 50_000_000


def test_aliases_are_refused_with_their_lines(tmp_path: Path) -> None:
    """A tower of aliases that would grow to billions of values costs as little as it is long."""
    lines = ["a: &a [x, x]"] + [
        f"{n}: &{n} [*{p}, *{p}]" for p, n in zip("abcdefgh", "bcdefghi", strict=True)
    ]
    problems = problems_of(tmp_path, "\n".join(lines))
    aliases = [problem for problem in problems if "is an alias" in problem.message]
    assert [problem.line for problem in aliases][:2] == [2, 2]
    assert len(aliases) == 16


def test_endless_aliases_stop_early(tmp_path: Path) -> None:
    """After some hundred mistakes reading stops."""
    problems = problems_of(tmp_path, "a: &a x\nb: [" + "*a, " * 5000 + "]\n")
    assert len(problems) <= 201


def test_tags_are_refused(tmp_path: Path) -> None:
    """No tag makes an object."""
    problems = problems_of(tmp_path, SMALL + "site: {name: !!python/object/apply:os.getcwd []}\n")
    assert any("tag" in problem.message and problem.line == 15 for problem in problems)


def test_a_name_twice_is_named_with_both_lines(tmp_path: Path) -> None:
    """The second is the mistake; the first is told."""
    problems = problems_of(tmp_path, changed("services:\n", "  oak: {cores: 2}\nservices:\n"))
    assert str(problems[0]) == "site.yaml:11: boxes.oak: this name stands here twice (first on line 10)."


@pytest.mark.parametrize("written", ['"a\\x1b[31mred"', '"a\\u202eb"', '"a\\x07"', '"a\\nb"'])
def test_control_characters_are_refused_in_names(tmp_path: Path, written: str) -> None:
    """A name must not steer a terminal; the message shows it escaped."""
    problems = problems_of(tmp_path, changed("  web:", f"  {written}:"))
    assert "control character" in problems[0].message
    assert all(character.isprintable() for character in str(problems[0]))


@pytest.mark.parametrize(
    "name", ["[/x]", "[bold red]x", "=cmd()", "<b>&amp;", "naïve Ärger", "no", "42", "{a}"]
)
def test_names_with_markup_are_names(tmp_path: Path, name: str) -> None:
    """Faces must handle them, so the file may hold them; words like no and 42 are names too."""
    loaded = load_text(tmp_path, changed("  web:", f'  "{name}":'))
    assert loaded.site.services[0].name == name


def test_a_byte_order_mark_and_windows_line_ends_are_taken(tmp_path: Path) -> None:
    """What editors on other systems write is read, and lines still count."""
    text = "\ufeff" + changed("16 GiB", "16 gigs").replace("\n", "\r\n")
    assert [problem.line for problem in problems_of(tmp_path, text)] == [10]


OFFICE = (EXAMPLES / "small-office.yaml").read_text(encoding="utf-8")
SCRAPS = [
    "",
    "[",
    "}",
    ": ",
    "- ",
    "-1",
    "no",
    "null",
    ".nan",
    "1e999",
    "\n",
    "  ",
    "'",
    "x: {y: 1}",
    "[1, 2]",
    "{}",
]


@pytest.mark.slow
@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, len(OFFICE)), st.integers(0, 30), st.sampled_from(SCRAPS))
def test_a_damaged_file_loads_or_is_refused(tmp_path: Path, start: int, length: int, scrap: str) -> None:
    """Whatever is cut out of a file or put into it, the answer is a site or a list of mistakes."""
    path = tmp_path / "damaged.yaml"
    path.write_text(OFFICE[:start] + scrap + OFFICE[start + length :], encoding="utf-8")
    with contextlib.suppress(InventoryError):
        assert load(path).site.boxes
