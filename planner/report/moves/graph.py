"""The tasks and what comes before what, drawn: as DOT for a graph program, or as SVG by itself."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from planner.report.common.text import clean

if TYPE_CHECKING:
    from planner.moves.tasks.precedence import Link
    from planner.moves.tasks.wave import Order
    from planner.moves.tasks.work_packages import Work

WIDE, HIGH, GAP_X, GAP_Y, EDGE = 230, 24, 70, 10, 20
COLOURS = {"SAME": "#8a8a8a", "LATER": "#1f5fa8", "HELD": "#b04a00"}
STYLES = {"SAME": "solid", "LATER": "dashed", "HELD": "bold"}
DASHES = {"SAME": "", "LATER": "6 3", "HELD": "2 3"}
LEGEND = {
    "SAME": "in the same wave or later",
    "LATER": "a day later or more",
    "HELD": "after the days of rollback",
}
Places = Mapping[str, tuple[int, int]]


def wave_of(order: Order) -> dict[str, int]:
    """Look up the number of the wave of each task of an order."""
    return {task.id: wave.number for wave in order.waves for task in wave.tasks}


def _shown(work: Work, order: Order) -> list[Link]:
    """Look up the links between tasks of the order."""
    waves = wave_of(order)
    return [link for link in work.links if {link.before, link.after} <= waves.keys()]


def _quoted(text: str) -> str:
    return '"' + clean(text).replace("\\", "\\\\").replace('"', '\\"') + '"'


def graph_dot(work: Work, order: Order) -> str:
    """Write the graph in the DOT language, a cluster a wave."""
    lines = ["digraph moves {", "  rankdir=LR;", "  node [shape=box];"]
    for wave in order.waves:
        lines.append(f"  subgraph cluster_{wave.number} {{")
        lines.append(f"    label={_quoted(f'Wave {wave.number}: {wave.name}')};")
        lines += [f"    {_quoted(task.id)};" for task in wave.tasks]
        lines.append("  }")
    for link in _shown(work, order):
        style = f"[style={STYLES[link.lag.name]}, tooltip={_quoted(link.because)}]"
        lines.append(f"  {_quoted(link.before)} -> {_quoted(link.after)} {style};")
    return "\n".join([*lines, "}"]) + "\n"


def graph_svg(work: Work, order: Order) -> str:
    """Draw the graph as a picture: a column a wave, a line from each task to what waits for it."""
    places = {
        task.id: (EDGE + column * (WIDE + GAP_X), EDGE + (row + 2) * (HIGH + GAP_Y))
        for column, wave in enumerate(order.waves)
        for row, task in enumerate(wave.tasks)
    }
    width = 2 * EDGE + max(1, len(order.waves)) * (WIDE + GAP_X)
    rows = max((len(wave.tasks) for wave in order.waves), default=0)
    height = 2 * EDGE + (rows + 4) * (HIGH + GAP_Y)
    head = f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" role="img">'
    parts = [head, "<title>What comes before what</title>", _marker(), *_titles(order)]
    parts += [_line(link, places) for link in _shown(work, order)]
    parts += [_box(id_, *place) for id_, place in places.items()]
    return "\n".join([*parts, *_legend(height), "</svg>"]) + "\n"


def _marker() -> str:
    return (
        '<defs><marker id="tip" markerWidth="8" markerHeight="8" refX="7" refY="4" orient="auto">'
        '<path d="M0 0 L8 4 L0 8 z"/></marker></defs>'
    )


def _titles(order: Order) -> list[str]:
    return [
        _text(EDGE + column * (WIDE + GAP_X), EDGE + HIGH, f"{wave.number}  {wave.name}", bold=True)
        for column, wave in enumerate(order.waves)
    ]


def _text(x: int, y: int, words: str, *, bold: bool = False) -> str:
    weight = ' font-weight="bold"' if bold else ""
    return (
        f'<text x="{x}" y="{y}" font-family="sans-serif" font-size="12"{weight}>{escape(clean(words))}</text>'
    )


def _box(id_: str, x: int, y: int) -> str:
    shown = id_ if len(id_) <= 34 else id_[:33] + "…"
    frame = f'<rect x="{x}" y="{y}" width="{WIDE}" height="{HIGH}" fill="#ffffff" stroke="#333333"/>'
    return f"<g><title>{escape(clean(id_))}</title>{frame}{_text(x + 6, y + 16, shown)}</g>"


def _line(link: Link, places: Places) -> str:
    (x0, y0), (x1, y1) = places[link.before], places[link.after]
    y0, y1 = y0 + HIGH // 2, y1 + HIGH // 2
    if x0 == x1:
        path = f"M{x0 + WIDE} {y0} C{x0 + WIDE + 34} {y0} {x1 + WIDE + 34} {y1} {x1 + WIDE} {y1}"
    else:
        path = f"M{x0 + WIDE} {y0} C{x0 + WIDE + 50} {y0} {x1 - 50} {y1} {x1} {y1}"
    return _drawn(path, link.lag.name, link.because)


def _drawn(path: str, lag: str, because: str) -> str:
    title = f"<title>{escape(clean(because))}</title>"
    dash = f' stroke-dasharray="{DASHES[lag]}"' if DASHES[lag] else ""
    return f'<path d="{path}" fill="none" stroke="{COLOURS[lag]}"{dash} marker-end="url(#tip)">{title}</path>'


def _legend(height: int) -> list[str]:
    y = height - EDGE
    found = []
    for place, (lag, words) in enumerate(LEGEND.items()):
        x = EDGE + place * 290
        found += [_drawn(f"M{x} {y - 4} L{x + 40} {y - 4}", lag, words), _text(x + 48, y, words)]
    return found
