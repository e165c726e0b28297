"""Services: where each runs, what it takes, what holds it, and what becomes of it."""

from __future__ import annotations

from collections.abc import Iterator

from planner import eligibility
from planner.domain.conflict import Rule
from planner.domain.resources import DETAILED, LISTED, RESOURCES
from planner.domain.services import Service
from planner.domain.site import Site
from planner.report.common.conflicts import conflict_words
from planner.report.common.figures import listed, marked, short
from planner.report.common.text import Cell
from planner.report.plan.page import VerdictEntry
from tui.session import Session
from tui.solving.planned import Planned
from tui.theme import VERDICT_SIGNS
from tui.views.rows import Row, row

LABELS = tuple(RESOURCES[name].label for name in LISTED)
COLUMNS = ("service", "today on", "becomes", "then on", "CPU", *LABELS, "rules")


def verdicts_of(planned: Planned | None) -> dict[str, VerdictEntry]:
    """Collect the verdict entries of a plan by service; none without a plan."""
    return {entry.service: entry for entry in planned.page.verdicts} if planned is not None else {}


def service_rows(session: Session) -> list[Row]:
    """List a row for each service of the text, with what the plan at hand says of it."""
    now, before = verdicts_of(session.planned), verdicts_of(session.pinned or session.previous)
    site = session.site
    with_rules = rules_by_service(site)
    return [
        _row(item, now.get(item.name), before.get(item.name), with_rules[item.name]) for item in site.services
    ]


def _row(item: Service, now: VerdictEntry | None, before: VerdictEntry | None, rules: list[str]) -> Row:
    cpu = max(item.demand.cpu)
    most = {name: max(item.demand.by_hour(name)) for name in LISTED}
    return row(
        item.name,
        Cell(marked(item.name, bool(item.assumed)), "head"),
        item.box,
        becomes(now, before),
        now.runs_then_on if now is not None else "…",
        (short(cpu), cpu),
        *((f"{short(figure)} {RESOURCES[name].unit}", figure) for name, figure in most.items()),
        "; ".join(rules),
    )


def becomes(now: VerdictEntry | None, before: VerdictEntry | None) -> Cell:
    """Find the verdict with its sign, and the one before where it was another."""
    if now is None:
        return Cell("… not planned", "dim")
    text = f"{VERDICT_SIGNS[now.verdict]} {now.verdict}"
    if before is None or before.verdict == now.verdict:
        return Cell(text)
    return Cell(f"{text} (was {before.verdict})", "doubt")


def rules_by_service(site: Site) -> dict[str, list[str]]:
    """Collect the rules of every service in a few words each."""
    found = {item.name: list(_own_rules(item)) for item in site.services}
    for together in site.together:
        for name in together.services:
            found[name].append(f"with {listed(sorted(together.services - {name}))}")
    for apart in site.apart:
        for name in apart.services:
            found[name].append(f"apart from {listed(sorted(apart.services - {name}))}")
    for quorum in site.quorums:
        for name in quorum.services:
            found[name].append(f"{quorum.physical} of {len(quorum.services)} physical")
    return found


def _own_rules(item: Service) -> Iterator[str]:
    if item.physical is not None:
        yield "physical"
    if item.stay_on is not None:
        yield f"on {item.stay_on}"
    if item.needs:
        yield f"needs {listed(sorted(item.needs))}"
    if item.zone != "default":
        yield f"zone {item.zone}"
    if not item.restart:
        yield "restart optional"
    if item.downtime_min is not None:
        yield f"down {short(item.downtime_min)} min"


def service_detail(session: Session, name: str) -> list[str]:
    """Find what is known of a service in sentences: its whole name, the verdict's reason, its rules."""
    site = session.site
    if name not in site.service:
        return []
    item, entry = site.service[name], verdicts_of(session.planned).get(name)
    lines = [name + (f": {', '.join(sorted(item.roles))}" if item.roles else "")]
    if entry is not None:
        where = entry.runs_then_on
        lines.append(f"{entry.verdict}, {item.box} -> {where}: {entry.reason or 'no rule decides'}")
    if item.physical is not None:
        lines.append(f"must stay physical: {item.physical}")
    lines += [
        f"apart from {listed(sorted(rule.services - {name}))}: {rule.because}"
        for rule in site.apart
        if name in rule.services
    ]
    if item.depends_on:
        lines.append(f"depends on {listed(item.depends_on)}")
    most = {name: max(item.demand.by_hour(name)) for name in DETAILED}
    takes = [RESOURCES[name].text(figure) for name, figure in most.items() if figure]
    return [*lines, f"takes {listed(takes)}"] if takes else lines


def why_lines(session: Session, name: str) -> list[tuple[str, str]]:
    """List for every machine there may be (its name and role) what forbids a service on it; '' for nothing.

    What is possible comes first; boxes that take nobody else because they stay as they are share one line.
    """
    site = session.site
    candidates = eligibility.candidates(site)
    found = [(candidate, eligibility.may_carry(site, name, candidate)) for candidate in candidates]
    strangers = [
        candidate.ref for candidate, item in found if item is not None and item.rule is Rule.RESIDENTS
    ]
    lines = [
        (f"{candidate.ref} ({candidate.role})", conflict_words(site, item) if item is not None else "")
        for candidate, item in found
        if item is None or item.rule is not Rule.RESIDENTS
    ]
    lines.sort(key=lambda pair: bool(pair[1]))
    if strangers:
        lines.append((listed(strangers), "left as they are, they take no service from elsewhere"))
    return lines
