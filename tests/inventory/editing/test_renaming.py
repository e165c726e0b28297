"""An entry gets another name, and so does every place that names it; nothing else in the text moves."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.inventory import load_text
from planner.inventory.editing import Document, EditError, rename

INVENTORIES = Path(__file__).resolve().parents[3] / "inventories"
EXAMPLES = sorted(path for path in INVENTORIES.glob("*.yaml") if path.stem != "full-of-mistakes")
SECTIONS = ("boxes", "gear", "catalogue", "cooling", "services", "measures", "listeners")
NEW = "another name: 7"
"""Has to stand in quotes to read back."""


def entries(document: Document) -> list[tuple[str | int, ...]]:
    """List every entry that has a name of its own."""
    found: list[tuple[str | int, ...]] = [
        (section, name) for section in SECTIONS for name in document.get((section,)) or {}
    ]
    circuits = document.get(("supply", "circuits")) or {}
    return [*found, *(("supply", "circuits", name) for name in circuits)]


@pytest.mark.slow
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_entry_can_be_renamed_and_back(path: Path) -> None:
    """Only lines with the old name differ, and renamed back it is the very same text."""
    before = Document.of(path.read_text(encoding="utf-8"), path.name)
    assert len(entries(before)) > 5
    for entry in entries(before):
        after = rename(before, entry, NEW)
        pairs = zip(before.text.splitlines(), after.text.splitlines(), strict=True)
        assert all(str(entry[-1]) in old for old, new in pairs if old != new)
        assert rename(after, (*entry[:-1], NEW), str(entry[-1])).text == before.text


@pytest.mark.slow
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_a_renamed_site_is_the_same_but_for_the_name(path: Path) -> None:
    """Read again, the site differs from the one before in that name alone, wherever it stood."""
    before = Document.of(path.read_text(encoding="utf-8"), path.name)
    site = load_text(before.text, path).site
    for section in SECTIONS:
        names = list(before.get((section,)) or {})
        if names:
            after = load_text(rename(before, (section, names[-1]), "zz-9").text, path).site
            assert repr(after).count("'zz-9'") > 0
            assert _sorted(repr(after), names[-1]) == _sorted(repr(site), names[-1])


def _sorted(text: str, name: str) -> list[str]:
    """List the words of a site with both names taken out, in an order that does not hang on names."""
    return sorted(text.replace(repr(name), "'?'").replace("'zz-9'", "'?'").split(", "))


def test_references_follow() -> None:
    """A box is named by its services, by what they stay on, and by the measures on it."""
    text = (
        "boxes:  # today\n  alder: {cores: 4}  # alder stands left\n"
        "services:\n  files: {box: alder, stay_on: alder}\n"
        "measures:\n  quiet-alder: {target: alder}\n"
    )
    made = rename(Document.of(text, "f"), ("boxes", "alder"), "beech")
    assert made.text == (
        "boxes:  # today\n  beech: {cores: 4}  # alder stands left\n"
        "services:\n  files: {box: beech, stay_on: beech}\n"
        "measures:\n  quiet-alder: {target: beech}\n"
    )


def test_a_name_that_is_taken_or_means_two_things_is_refused() -> None:
    """Rather than two entries becoming one, or a reference changing its meaning."""
    text = "boxes: {a: {}, b: {}}\ngear: {a: {}}\nmeasures: {m: {target: a}}\n"
    document = Document.of(text, "f")
    with pytest.raises(EditError, match="b stands there already"):
        rename(document, ("boxes", "a"), "b")
    with pytest.raises(EditError, match="also the name of something else"):
        rename(document, ("boxes", "a"), "c")
