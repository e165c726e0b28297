"""The places that are tables besides the services: boxes, rules and moves."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import BindingType

from planner.inventory.text.errors import Path
from tui.keys import footer_bindings
from tui.places.base import TablePlace
from tui.views import boxes, moves, rules
from tui.views.rows import Row


class Boxes(TablePlace):
    """Boxes, gear, what may be bought, cooling."""

    COLUMNS = boxes.COLUMNS
    new_section = "boxes"
    BINDINGS: ClassVar[list[BindingType]] = footer_bindings(
        "change", "add", "filter", "undo", "save", "palette"
    )

    def rows(self) -> list[Row]:
        """List a row for everything that stands or may stand in the room."""
        return boxes.box_rows(self.session)

    def detail(self, key: str) -> list[str]:
        """List all about a row."""
        return boxes.box_detail(self.session, key)

    def entry(self, key: str) -> Path:
        """Find where it stands in the file."""
        section, _, name = key.partition("/")
        return (section, name)


class Rules(TablePlace):
    """Rules, limits, aims, targets, measures."""

    COLUMNS = rules.COLUMNS
    new_section = "measures"
    BINDINGS: ClassVar[list[BindingType]] = footer_bindings(
        "change", "allow", "remove", "undo", "save", "palette"
    )

    def rows(self) -> list[Row]:
        """List a row a rule."""
        return rules.rule_rows(self.session)

    def detail(self, key: str) -> list[str]:
        """List a rule in full."""
        return rules.rule_detail(self.session, key)

    def entry(self, key: str) -> Path:
        """Find where it stands in the file; rules that roles bring stand nowhere."""
        section, _, rest = key.partition("/")
        if section == "rules":
            word, _, index = rest.partition("/")
            return (section, word, int(index))
        if section == "by-role":
            return ()
        return (section,) if section == "policy" else (section, rest)

    def first_field(self, key: str) -> Path | None:
        """Begin at the field that the row is about."""
        section, _, rest = key.partition("/")
        firsts: dict[str, Path] = {
            "policy": tuple(rest.split(".")),
            "listeners": ("target",),
            "measures": ("allowed",),
            "rules": ("because",),
        }
        return firsts.get(section)


class Moves(TablePlace):
    """The waves, and the room after each."""

    COLUMNS = moves.COLUMNS
    BINDINGS: ClassVar[list[BindingType]] = footer_bindings(
        "listener", "sort", "pin", "undo", "save", "palette"
    )
    at = 0

    @property
    def listener(self) -> str:
        """The listener whose level is shown."""
        names = [item.name for item in self.session.site.listeners]
        return names[self.at % len(names)]

    def next_listener(self) -> None:
        """Show the level at the next listener."""
        self.at += 1
        self.bring_up_to_date()

    def rows(self) -> list[Row]:
        """List a row a wave."""
        return moves.move_rows(self.session, self.listener)

    def detail(self, key: str) -> list[str]:
        """List the tasks of a wave."""
        return [*moves.move_detail(self.session, key), f"level shown: {self.listener} (v: next listener)"]

    def nothing(self) -> list[str]:
        """Say why there are no waves."""
        return ["the waves are being worked out" if not self.wanted else "nothing holds these words"]

    def entry(self, key: str) -> Path:
        """A wave stands in no file."""
        del key
        return ()
