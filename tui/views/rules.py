"""Rules: which services go together or apart, aims, limits, targets, and measures allowed."""

from __future__ import annotations

from collections.abc import Iterator

from planner.domain.measures import ROOM
from planner.domain.resources import INSTALLED, RESOURCES
from planner.domain.rules import Apart, Quorum, Together
from planner.domain.site import Site
from planner.report.common.figures import level, listed, number, short
from planner.report.common.text import Cell
from tui.session import Session
from tui.views.rows import Row, row

COLUMNS = ("rule", "for", "says", "why, or what the plan does")


def rule_rows(session: Session) -> list[Row]:
    """List all rules: aims, limits, targets, groups, measures."""
    site = session.site
    return [*_policy(site), *_targets(session), *_groups(session), *_measures(session)]


def _policy(site: Site) -> Iterator[Row]:
    policy, money = site.policy, site.currency
    budget = "none set" if policy.budget is None else f"{number(policy.budget)} {money}"
    yield row("policy/aims", Cell("aims", "head"), "the plan", ", ".join(policy.aims), "first comes first")
    yield row("policy/budget", Cell("budget", "head"), "the plan", budget, "most that may be spent")
    rate = f"{number(policy.labour_per_hour)} {money} an hour"
    yield row("policy/labour_per_hour", Cell("work", "head"), "the plan", rate, "counts in the aim cost")
    yield row(
        "policy/spare_hosts", Cell("spare hosts", "head"), "hosts", f"{policy.spare_hosts}", _spares(site)
    )
    for name in INSTALLED:
        share = f"{short(100.0 * policy.headroom.get(name, 0.0))} % free"
        key = f"policy/headroom.{RESOURCES[name].key}"
        yield row(key, Cell("headroom", "head"), RESOURCES[name].label, share, "on what the plan builds")
    ratio = f"{short(policy.vcpu_per_core)} to a core"
    yield row("policy/vcpu_per_core", Cell("overcommit", "head"), "virtual cores", ratio, "on hosts")
    limit = f"{short(policy.inlet_limit_c)} °C"
    yield row("policy/inlet_limit", Cell("warmest air", "head"), "machines", limit, "in every season")


def _spares(site: Site) -> str:
    many = site.policy.spare_hosts
    any_hosts = "any one host" if many == 1 else f"any {many} hosts at once"
    return f"{any_hosts} may be lost" if many else "a lost host stays lost"


def _targets(session: Session) -> Iterator[Row]:
    page = session.planned.page if session.planned is not None else None
    then = {entry.listener: entry for entry in page.listeners} if page is not None else {}
    for item in session.site.listeners:
        says = "no target" if item.target_dba is None else f"at most {level(item.target_dba)}"
        entry = then.get(item.name)
        after = "…" if entry is None else f"{level(entry.after_dba)} then"
        if entry is not None and entry.met is not None:
            after += ", ✔ met" if entry.met else ", ✖ NOT met"
        yield row(f"listeners/{item.name}", Cell("target", "head"), item.name, says, after)


def _groups(session: Session) -> Iterator[Row]:
    site = session.site
    for index, together in enumerate(site.together):
        yield _group(session, "together", index, together, "share a machine")
    for index, apart in enumerate(site.apart):
        yield _group(session, "apart", index, apart, "never share a machine")
    for index, quorum in enumerate(site.quorums):
        yield _group(session, "quorum", index, quorum, f"{quorum.physical} stay physical")


def _group(session: Session, word: str, index: int, rule: Together | Apart | Quorum, says: str) -> Row:
    by_role = index >= len(session.document.get(("rules", word)) or [])
    key = f"{'by-role' if by_role else 'rules'}/{word}/{index}"
    because = f"{rule.because} (by their role)" if by_role else rule.because
    return row(key, Cell(word, "head"), listed(sorted(rule.services)), says, because)


def _measures(session: Session) -> Iterator[Row]:
    taken = (
        {entry.measure for entry in session.planned.page.measures} if session.planned is not None else set()
    )
    for item in session.site.measures:
        target = "the room" if item.target == ROOM else item.target
        says = "✔ allowed" if item.allowed else "✖ not allowed"
        price = f"{number(item.price)} {session.site.currency}, {short(item.hours)} h"
        does = "" if session.planned is None else ("taken: " if item.name in taken else "not taken: ")
        yield row(f"measures/{item.name}", Cell(item.name, "head"), target, says, f"{does}{price}")


def rule_detail(session: Session, key: str) -> list[str]:
    """List a rule in full."""
    for item in rule_rows(session):
        if item.key == key:
            name, who, says, why = (cell.text for cell in item.cells)
            return [f"{name}: {who}", says, why]
    return []
