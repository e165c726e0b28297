"""The rack before and after as a picture: each unit a line, what stands elsewhere below it."""

from __future__ import annotations

from dataclasses import dataclass

from planner.domain.site import Site
from planner.domain.state import State, state_today
from planner.ledger.effects import quieted
from planner.report.common.text import Line, heading, line, pad
from tui.theme import cut

WIDTH = 30


@dataclass(frozen=True)
class Standing:
    """Something in the room: its name and how many rack units it takes; 0: it stands elsewhere."""

    name: str
    units: int


def things(site: Site, state: State) -> list[Standing]:
    """List machines and gear that are there, largest first, so that the heavy ones sit lowest."""
    machines = [Standing(item.name, item.spec(site).rack_u) for item in state.machines]
    gear = [
        Standing(item.name, item.rack_u)
        for item in site.gear
        if quieted(site, item.name, item.sound, state.measures) is not None
    ]
    return sorted([*machines, *gear], key=lambda item: -item.units)


def rack_picture(site: Site, state: State, height: int) -> list[str]:
    """Draw a rack from its top unit down; what is placed first sits lowest."""
    slots: list[str] = []
    for item in things(site, state):
        if item.units:
            slots += [item.name, *["│"] * (item.units - 1)]
    free = max(0, height - len(slots))
    rows = [*[""] * free, *_flipped(slots)]
    body = [f"│{pad(cut(text, WIDTH - 2).plain if text else '·', WIDTH - 2)}│" for text in rows]
    edge = "─" * (WIDTH - 2)
    return [f"┌{edge}┐", *body, f"└{edge}┘"]


def _flipped(slots: list[str]) -> list[str]:
    """Turn a list of units round so that a machine's name stays on its topmost unit."""
    groups: list[list[str]] = []
    for text in slots:
        if text == "│" and groups:
            groups[-1].append(text)
        else:
            groups.append([text])
    return [text for group in reversed(groups) for text in group]


def rack_lines(site: Site, then: State | None) -> list[Line]:
    """Set the rack of today and of then side by side, and below what stands elsewhere."""
    states = [state_today(site), *([then] if then is not None else [])]
    used = [sum(item.units for item in things(site, state)) for state in states]
    height = max([*used, 1])
    pictures = [rack_picture(site, state, height) for state in states]
    total = "" if site.room.rack_u is None else f" of {site.room.rack_u} U"
    titles = [f"{word}: {units} U{total}" for word, units in zip(("today", "then"), used, strict=False)]
    lines = heading("Racks")
    lines.append(line("  " + "   ".join(pad(title, WIDTH) for title in titles)))
    lines += [
        line("  " + "   ".join(pad(row, WIDTH) for row in rows)) for rows in zip(*pictures, strict=True)
    ]
    elsewhere = [[item.name for item in things(site, state) if not item.units] for state in states]
    lines.append(line("  beside the rack", "dim"))
    for index in range(max(map(len, elsewhere), default=0)):
        names = [cut(group[index], WIDTH).plain if index < len(group) else "" for group in elsewhere]
        lines.append(line("  " + "   ".join(pad(name, WIDTH) for name in names)))
    return lines
