"""The places that are pages: plan, sound and heat."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import BindingType

from planner.report.common.text import Line
from tui.keys import footer_bindings
from tui.places.page import PagePlace
from tui.views.heat import heat_lines
from tui.views.plan import plan_place_lines
from tui.views.sound import sound_lines


class PlanPlace(PagePlace):
    """Verdicts, shopping list, changes, proof."""

    BINDINGS: ClassVar[list[BindingType]] = footer_bindings(
        "pin", "relax", "policy", "undo", "save", "palette"
    )

    def lines(self, width: int) -> list[Line]:
        """Build the plan as the command prints it, after what changed."""
        del width
        return plan_place_lines(self.session)


class SoundPlace(PagePlace):
    """Sources as bars, today and then, loudest first, and the ladder."""

    BINDINGS: ClassVar[list[BindingType]] = footer_bindings(
        "listener", "policy", "pin", "undo", "save", "palette"
    )
    fits_width = True
    at = 0

    @property
    def listener(self) -> str:
        """The listener shown."""
        names = [item.name for item in self.session.site.listeners]
        return names[self.at % len(names)]

    def next_listener(self) -> None:
        """Show the next listener."""
        self.at += 1
        self.bring_up_to_date()

    def lines(self, width: int) -> list[Line]:
        """List the bars."""
        return sound_lines(self.session, self.listener, width)


class HeatPlace(PagePlace):
    """Watts, air and temperature by season, and the racks."""

    BINDINGS: ClassVar[list[BindingType]] = footer_bindings(
        "policy", "pin", "undo", "redo", "save", "palette"
    )

    def lines(self, width: int) -> list[Line]:
        """Build the seasons and the racks."""
        del width
        return heat_lines(self.session)
