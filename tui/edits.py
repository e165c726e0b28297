"""The edits a person makes, each a new text and the name by which it is undone."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from planner.inventory import Problem
from planner.inventory.editing import Document, EditError, add_rule, text_scalar
from planner.inventory.editing import rename as renamed
from planner.inventory.editing.expected import value_of
from planner.inventory.editing.writing import Written
from planner.inventory.text.errors import Path, path_text
from tui.session import RefusedError

RULE_WORDS = {"together": "stay together", "apart": "stay apart", "quorum": "stay physical in part"}


@dataclass(frozen=True)
class Edit:
    """A text to turn to, and what turning to it does, in a few words."""

    name: str
    document: Document


Maker = Callable[[], Edit]


def refused(reason: str, path: Path = ()) -> RefusedError:
    """Make the refusal of an edit that the text does not allow."""
    return RefusedError(Problem("", None, path_text(path), reason))


PLURALS = {
    "services": "services",
    "boxes": "boxes",
    "gear": "pieces of gear",
    "catalogue": "kinds",
    "cooling": "cooling options",
    "measures": "measures",
    "listeners": "listeners",
}


def who(entries: Sequence[Path]) -> str:
    """Name one entry, or count several."""
    if len(entries) > 1:
        return f"{len(entries)} {PLURALS.get(str(entries[0][0]), 'rules')}"
    last = entries[0][-1]
    return f"rule {entries[0][-2]} {last + 1}" if isinstance(last, int) else last


def change(document: Document, entries: Sequence[Path], changes: Mapping[Path, str | None]) -> Edit:
    """Set fields of one or more entries; None takes a field away, so that its default holds."""
    made = document
    try:
        for entry in entries:
            for field, written in changes.items():
                path = (*entry, *field)
                made = made.drop(path) if written is None else _put(made, path, written)
    except EditError as error:
        raise refused(str(error)) from None
    return Edit(change_name(entries, changes), made)


def _put(document: Document, path: Path, written: str) -> Document:
    """Put a field; a parent that is written as one value gives way to its parts."""
    parent = document.get(path[:-1], {})
    if parent is None or isinstance(parent, dict):
        return document.put(path, written)
    return document.set_value(path[:-1], f"{{{text_scalar(str(path[-1]))}: {written}}}")


def change_name(entries: Sequence[Path], changes: Mapping[Path, str | None]) -> str:
    """Name a change of fields."""
    subject = who(entries)
    if list(changes) == [("stay_physical",)]:
        written = changes["stay_physical",]
        waived = written in (None, "no")
        verb = "stay" if len(entries) > 1 else "stays"
        return f"{subject} may be virtual" if waived else f"{subject} {verb} physical"
    fields = ", ".join(path_text(field) for field in changes)
    if len(changes) > 1:
        return f"{subject}: {fields}"
    written = next(iter(changes.values()))
    return f"{subject}: {fields} as by default" if written is None else f"{subject}: {fields} {written}"


def add(document: Document, section: str, name: str, changes: Mapping[Path, str | None]) -> Edit:
    """Add an entry to a section."""
    fields = {path: written for path, written in changes.items() if written is not None}
    try:
        flat = {str(path[0]): _nested(fields, path[0]) for path in fields}
        made = document.add(section, name, flat)
    except EditError as error:
        raise refused(str(error), (section, name)) from None
    return Edit(f"{name} added", made)


def _nested(fields: Mapping[Path, str], first: str | int) -> str:
    """Write the written value of a field, with its parts in brackets where it has some."""
    if (first,) in fields:
        return fields[first,]
    parts = [f"{path[1]}: {written}" for path, written in fields.items() if path[0] == first]
    return "{" + ", ".join(parts) + "}"


def copy(document: Document, entry: Path, name: str) -> Edit:
    """Put a copy of an entry below it."""
    try:
        return Edit(f"{entry[-1]} copied as {name}", document.copy(entry, name))
    except EditError as error:
        raise refused(str(error), entry) from None


def rename(document: Document, entry: Path, name: str) -> Edit:
    """Rename an entry, in every place that names it."""
    try:
        return Edit(f"{entry[-1]} renamed {name}", renamed(document, entry, name))
    except EditError as error:
        raise refused(str(error), entry) from None


def remove(document: Document, entries: Sequence[Path]) -> Edit:
    """Take entries away, and take what is left without them out of the rules."""
    made = document
    try:
        for entry in sorted(entries, key=lambda path: [str(part).zfill(6) for part in path], reverse=True):
            made = made.remove(entry)
            if entry[0] == "services":
                made = _out_of_rules(made, str(entry[-1]))
    except EditError as error:
        raise refused(str(error)) from None
    return Edit(f"{who(entries)} removed", made)


def _out_of_rules(document: Document, service: str) -> Document:
    """Take a service's name out of rules and of what depends on it; a rule for one service goes."""
    made = document
    for word, least in (("together", 2), ("apart", 2), ("quorum", 1)):
        rules = made.get(("rules", word)) or []
        for index in range(len(rules) - 1, -1, -1):
            names = rules[index].get("services", [])
            if service in names:
                path: Path = ("rules", word, index)
                is_left = len(names) > least
                made = made.remove((*path, "services", names.index(service)) if is_left else path)
    for name, item in (made.get(("services",)) or {}).items():
        needed = item.get("depends_on") or []
        if isinstance(needed, list) and service in needed:
            path = ("services", name, "depends_on")
            made = made.remove((*path, needed.index(service)) if len(needed) > 1 else path)
    return made


def group(document: Document, word: str, services: Sequence[str], fields: Mapping[Path, str | None]) -> Edit:
    """Add a rule for services; ``fields`` are the other fields as written, and the services if changed."""
    names = value_of(fields["services",] or "") if fields.get(("services",)) else list(services)
    rule: dict[str, Written] = {"services": [str(name) for name in names]}
    if word == "quorum":
        rule["physical"] = int(value_of(fields["physical",] or "1"))
    rule["because"] = meant(fields["because",] or "")
    try:
        made = add_rule(document, word, rule)
    except EditError as error:
        raise refused(str(error)) from None
    return Edit(f"{who([('services', str(name)) for name in names])} {RULE_WORDS[word]}", made)


def meant(written: str) -> str:
    """Write the text that a written value stands for."""
    return str(value_of(written))


def allow(document: Document, measures: Iterable[str], allowed: bool) -> Edit:
    """Say whether measures may be taken."""
    names = list(measures)
    made = document
    for name in names:
        path: Path = ("measures", name, "allowed")
        made = made.drop(path) if allowed else made.put(path, "no")
    return Edit(
        f"{who([('measures', name) for name in names])} {'allowed' if allowed else 'not allowed'}", made
    )
