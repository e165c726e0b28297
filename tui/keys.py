"""Every action with its key, in one table; a person may give each another key in a file."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import yaml
from textual.binding import Binding, BindingType

KEYS_VARIABLE = "STILLROOM_KEYS"
TAKEN_BY_TERMINALS = frozenset(
    f"ctrl+{letter}" for letter in ("a", "b", "c", "d", "g", "h", "i", "j", "l", "m", "o", "p", "q", "s", "z")
) | {"ctrl+backslash", "f10", "f11"}
"""Keys that terminals, shells, multiplexers, flow control and window managers keep for themselves."""


class KeysError(Exception):
    """A file of keys that cannot be used."""


@dataclass(frozen=True)
class Deed:
    """Something a person can do: its name for the key file, action, key, one or two words, a sentence."""

    id: str
    action: str
    key: str
    word: str
    help: str


PLACES = ("boxes", "services", "rules", "plan", "sound", "heat", "moves")
PLACE_HELP = {
    "boxes": "boxes, gear, what may be bought, and what becomes of each",
    "services": "services, what they take, what holds them, and what becomes of each",
    "rules": "rules between services, limits, aims, targets and measures",
    "plan": "verdicts, shopping list, what changed, and how sure it is",
    "sound": "what is heard at each listener, loudest first, today and then",
    "heat": "watts, air and temperatures by season, and the racks",
    "moves": "the waves of the moves, with level and watts after each",
}
DEEDS = (
    *(
        Deed(place, f"place('{place}')", str(number), place, f"Go to {place}: {PLACE_HELP[place]}.")
        for number, place in enumerate(PLACES, start=1)
    ),
    Deed("change", "change", "e", "change", "Change the fields of the selected entries in a form."),
    Deed("physical", "physical", "p", "physical", "Say why the selected services must stay physical, or no."),
    Deed("together", "group('together')", "t", "together", "Hold the marked services on one machine."),
    Deed("apart", "group('apart')", "x", "apart", "Keep the marked services on different machines."),
    Deed("quorum", "group('quorum')", "y", "some physical", "Keep some of the marked services physical."),
    Deed("allow", "allow", "m", "allow", "Allow the selected measures, or forbid them."),
    Deed("policy", "policy", "b", "policy", "Change headroom, budget, aims, spare hosts and other limits."),
    Deed("add", "add", "n", "new", "Add an entry of the sort that is selected."),
    Deed("copy", "copy", "c", "copy", "Copy the selected entry under another name."),
    Deed("rename", "rename", "f", "rename", "Give the selected entry another name, wherever it is named."),
    Deed("remove", "remove", "d", "remove", "Remove the selected entries."),
    Deed("mark", "mark", "space", "mark", "Mark the row, so that several are changed at once."),
    Deed("mark_all", "mark_all", "M", "mark all", "Mark all rows shown, or unmark them."),
    Deed("filter", "filter", "slash", "filter", "Show only the rows that hold the words typed."),
    Deed("sort", "sort", "o", "sort", "Sort by the next column; past the last, in the file's order."),
    Deed("turn", "turn", "O", "turn round", "Turn the order round."),
    Deed("why", "why", "w", "why", "Say what each machine would change for the service, or what forbids it."),
    Deed("relax", "relax", "k", "relax", "Go to what would have to give way for a plan to exist."),
    Deed("pin", "pin", "h", "hold plan", "Hold this plan, to compare all later ones with it."),
    Deed("listener", "listener", "v", "listener", "Show the next listener."),
    Deed("undo", "undo", "u", "undo", "Undo the last edit."),
    Deed("redo", "redo", "r", "redo", "Make the edit undone last again."),
    Deed("save", "save", "s", "save", "Save the file; only changed lines differ."),
    Deed("keep_best", "keep_best", "escape", "keep best", "Stop planning and keep the best plan found."),
    Deed("solve", "solve", "g", "plan again", "Plan again from the plan at hand."),
    Deed("light", "light", "l", "light or dark", "Change between a light and a dark screen."),
    Deed("help", "help", "question_mark", "help", "Say what the keys do here."),
    Deed("palette", "command_palette", "a", "all actions", "List every action, to find it by its words."),
    Deed("leave", "leave", "q", "leave", "Leave; asks when there is something not saved."),
)
DEED = {deed.id: deed for deed in DEEDS}


def app_bindings() -> list[BindingType]:
    """List the bindings of the whole app; the footer's come from the places."""
    return [Binding(deed.key, deed.action, deed.word, show=False, id=deed.id) for deed in DEEDS]


def footer_bindings(*ids: str) -> list[BindingType]:
    """List the bindings that a place shows in the footer: six at most."""
    assert len(ids) <= 6
    deeds = [DEED[name] for name in ids]
    return [Binding(deed.key, f"app.{deed.action}", deed.word, show=True, id=deed.id) for deed in deeds]


def keys_file() -> Path | None:
    """Find the person's file of keys, None when there is none."""
    named = os.environ.get(KEYS_VARIABLE)
    if named:
        return Path(named)
    home = os.environ.get("XDG_CONFIG_HOME") or os.path.join(os.path.expanduser("~"), ".config")
    usual = Path(home) / "stillroom" / "keys.yaml"
    return usual if usual.is_file() else None


def read_keys(path: Path) -> dict[str, str]:
    """Read a file of lines such as ``save: f2``; KeysError says what is wrong with it."""
    try:
        data = yaml.safe_load(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError) as error:
        raise KeysError(f"{path.name} cannot be read: {getattr(error, 'strerror', None) or error}") from None
    except yaml.YAMLError:
        raise KeysError(f"{path.name} is no list of 'action: key'") from None
    if not isinstance(data, dict):
        raise KeysError(f"{path.name} must hold lines such as 'save: f2'")
    return checked_keys({str(name): str(key) for name, key in data.items()}, path.name)


def checked_keys(given: Mapping[str, str], name: str) -> dict[str, str]:
    """Check keys: actions that exist, keys that arrive, no key twice."""
    for action, key in given.items():
        if action not in DEED:
            raise KeysError(f"{name}: there is no action {action}; there are: {', '.join(DEED)}")
        bad = sorted(set(key.split(",")) & TAKEN_BY_TERMINALS)
        if bad:
            raise KeysError(f"{name}: {action}: terminals and multiplexers take {bad[0]}; choose another key")
    owners: dict[str, str] = {}
    for deed in DEEDS:
        for key in given.get(deed.id, deed.key).split(","):
            if key in owners:
                raise KeysError(f"{name}: {key} would be both {owners[key]} and {deed.id}")
            owners[key] = deed.id
    return dict(given)
