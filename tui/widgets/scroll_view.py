"""Lines of text to scroll; only those in sight are drawn, however many there are."""

from __future__ import annotations

from rich.cells import cell_len
from rich.segment import Segment
from textual.geometry import Size
from textual.scroll_view import ScrollView
from textual.strip import Strip

from planner.report.common.text import Line
from tui.theme import line_text


class Paper(ScrollView, can_focus=True):
    """A page of lines; the arrow keys scroll it."""

    def __init__(self, classes: str = "") -> None:
        super().__init__(classes=classes)
        self.lines: list[Line] = []

    def show(self, lines: list[Line]) -> None:
        """Show other lines, from where one is."""
        self.lines = lines
        widths = (sum(cell_len(piece.text) for piece in item.pieces) for item in lines)
        self.virtual_size = Size(max(widths, default=0), len(lines))
        self.refresh()

    def render_line(self, y: int) -> Strip:
        """Draw the line that is at a height of the screen."""
        across, down = self.scroll_offset
        width, at = self.scrollable_content_region.width, y + down
        segments: list[Segment] = []
        if at < len(self.lines):
            segments = list(line_text(self.lines[at]).render(self.app.console))
        strip = Strip(segments).apply_style(self.rich_style)
        return strip.crop_extend(across, across + width, self.rich_style)
