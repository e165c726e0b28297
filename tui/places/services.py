"""The place of the services."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import BindingType

from planner.inventory.text.errors import Path
from tui.keys import footer_bindings
from tui.places.base import TablePlace
from tui.views.rows import Row
from tui.views.services import COLUMNS, service_detail, service_rows

FOOTER = ("change", "physical", "why", "undo", "save", "palette")


class Services(TablePlace):
    """What runs, what it takes, what holds it, and what becomes of it."""

    COLUMNS = COLUMNS
    new_section = "services"
    BINDINGS: ClassVar[list[BindingType]] = footer_bindings(*FOOTER)

    def rows(self) -> list[Row]:
        """List a row a service."""
        return service_rows(self.session)

    def detail(self, key: str) -> list[str]:
        """List all about a service."""
        return service_detail(self.session, key)

    def entry(self, key: str) -> Path:
        """Find where a service stands."""
        return ("services", key)
