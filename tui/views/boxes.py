"""Boxes, gear, what may be bought, and cooling: what each takes and what becomes of it."""

from __future__ import annotations

from collections.abc import Iterator

from planner.domain.machines import Spec
from planner.domain.resources import DETAILED, LISTED, RESOURCES
from planner.domain.site import Site
from planner.ledger import draw
from planner.report.common.figures import listed, marked, number, short
from planner.report.common.text import Cell
from planner.report.plan.page import BoxEntry, PlanPage
from tui.session import Session
from tui.solving.planned import Planned
from tui.theme import FATE_SIGNS, FATE_WORDS
from tui.views.rows import Row, row

LABELS = tuple(RESOURCES[name].label for name in LISTED)
COLUMNS = ("name", "sort", "becomes", "watts", "rack", "cores", *LABELS, "then")
UNPLANNED = Cell("… not planned", "dim")


def box_rows(session: Session) -> list[Row]:
    """List a row for each box, piece of gear, kind and cooling option."""
    planned = session.planned
    return [
        *_boxes(session.site, planned, session.pinned or session.previous),
        *_gear(session.site, planned),
        *_kinds(session.site, planned),
        *_cooling(session.site, planned),
    ]


def _fates(planned: Planned | None) -> dict[str, BoxEntry]:
    return {entry.box: entry for entry in planned.page.boxes} if planned is not None else {}


def _boxes(site: Site, planned: Planned | None, before: Planned | None) -> Iterator[Row]:
    now, old = _fates(planned), _fates(before)
    for box in site.boxes:
        entry, spec = now.get(box.name), box.spec
        watts = (spec.idle_w + spec.peak_w) / 2 if entry is None else entry.power_today_w
        yield row(
            f"boxes/{box.name}",
            Cell(marked(box.name, bool(box.assumed)), "head"),
            "box",
            fate_cell(entry, old.get(box.name)),
            (f"{number(watts)} W", watts),
            (f"{spec.rack_u} U", spec.rack_u),
            (short(spec.cores), spec.cores),
            *_has(spec),
            entry.reason if entry is not None else "…",
        )


def fate_cell(now: BoxEntry | None, before: BoxEntry | None) -> Cell:
    """Find what becomes of a box, and what became of it before where that was another thing."""
    if now is None:
        return UNPLANNED
    text = f"{FATE_SIGNS[now.fate]} {FATE_WORDS[now.fate]}"
    if before is None or before.fate == now.fate:
        return Cell(text)
    return Cell(f"{text} (was {FATE_WORDS[before.fate]})", "doubt")


def _gear(site: Site, planned: Planned | None) -> Iterator[Row]:
    for gear in site.gear:
        watts = draw.gear_w(site, gear, ())
        gone = planned is not None and gear.name in planned.page.switch_off
        becomes = UNPLANNED if planned is None else Cell("× taken away" if gone else "= stays")
        yield row(
            f"gear/{gear.name}",
            Cell(marked(gear.name, bool(gear.assumed)), "head"),
            "gear",
            becomes,
            (f"{number(watts)} W", watts),
            (f"{gear.rack_u} U", gear.rack_u),
            *_blank(1 + len(LISTED)),
            measures_words(planned, gear.name),
        )


def measures_words(planned: Planned | None, target: str) -> str:
    """Name the measures that the plan takes on something."""
    taken = planned.page.measures if planned is not None else ()
    return listed([entry.measure for entry in taken if entry.target == target])


def _kinds(site: Site, planned: Planned | None) -> Iterator[Row]:
    bought = {entry.what: entry.count for entry in planned.page.shopping} if planned is not None else {}
    for kind in site.kinds:
        spec, count = kind.spec, bought.get(kind.name, 0)
        becomes = UNPLANNED if planned is None else Cell(f"+ buy {count}" if count else "- not bought")
        yield row(
            f"catalogue/{kind.name}",
            Cell(marked(kind.name, bool(kind.assumed)), "head"),
            str(kind.role),
            becomes,
            (f"{number(spec.idle_w)}-{number(spec.peak_w)} W", spec.idle_w),
            (f"{spec.rack_u} U", spec.rack_u),
            (short(spec.cores), spec.cores),
            *_has(spec),
            f"{number(kind.price)} {site.currency}, up to {kind.max_units}",
        )


def _cooling(site: Site, planned: Planned | None) -> Iterator[Row]:
    for option in site.cooling:
        yield row(
            f"cooling/{option.name}",
            Cell(marked(option.name, bool(option.assumed)), "head"),
            "cooling",
            UNPLANNED if planned is None else Cell(cooling_words(planned.page, option.name)),
            (f"{number(option.power_w)} W", option.power_w),
            *_blank(2 + len(LISTED)),
            f"today: {listed(sorted(option.runs_today)) or 'off'}",
        )


def cooling_words(page: PlanPage, option: str) -> str:
    """Say in which seasons a cooling option runs then."""
    seasons = [entry.season for entry in page.cooling if option in entry.then]
    return f"~ {listed(seasons)}" if seasons else "× off"


def _has(spec: Spec) -> Iterator[tuple[str, float]]:
    for name in LISTED:
        figure: float = getattr(spec, name)
        yield f"{short(figure)} {RESOURCES[name].unit}", figure


def _blank(count: int) -> list[tuple[str, float]]:
    return [("", 0.0)] * count


def box_detail(session: Session, key: str) -> list[str]:
    """Find what is known of a row in sentences."""
    section, _, name = key.partition("/")
    site, planned = session.site, session.planned
    if section == "boxes" and name in site.box:
        return [name, *_box_lines(session, name)]
    lines = [name]
    if section == "catalogue" and name in site.kind and planned is not None:
        units = [machine for machine in planned.plan.state.machines if machine.kind == name]
        lines += [f"{unit.name} carries {listed(unit.services) or 'nothing'}" for unit in units]
    taken = measures_words(planned, name)
    return [*lines, f"measures in the plan: {taken}"] if taken else lines


def _box_lines(session: Session, name: str) -> Iterator[str]:
    box = session.site.box[name]
    entry = _fates(session.planned).get(name)
    if entry is not None:
        yield f"{FATE_WORDS[entry.fate]}: {entry.reason}"
        if entry.carries:
            yield f"carries then: {listed(entry.carries)}"
    today = [item.name for item in session.site.services if item.box == name]
    yield f"carries today: {listed(today) or 'nothing'}; on circuit {box.circuit}"
    has = {name: getattr(box.spec, name, 0.0) for name in DETAILED}
    if any(has.values()):
        yield f"has {listed([RESOURCES[name].text(figure) for name, figure in has.items() if figure])}"
    if box.spec.offers:
        yield f"offers {listed(sorted(box.spec.offers))}"
    taken = measures_words(session.planned, name)
    if taken:
        yield f"measures in the plan: {taken}"
