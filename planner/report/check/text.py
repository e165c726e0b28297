"""What `check` says of an inventory file as text, and one fact a line."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from planner.inventory.loaded import Default
from planner.inventory.text.errors import Problem
from planner.report.check.page import CheckPage
from planner.report.common.figures import MARK, figure_name, plural
from planner.report.common.text import Line, heading, line, paragraph
from planner.report.plan.text import assumed_table

NAMED = frozenset({"boxes", "services", "gear", "catalogue", "cooling", "measures", "listeners"})
"""Sections whose entries carry names of the person's own."""


def check_lines(page: CheckPage) -> list[Line]:
    """Set the page as text."""
    return [*_verdict(page), *_problems("Errors", page.errors, "bad"), *_rest(page)]


def _verdict(page: CheckPage) -> Iterator[Line]:
    if page.errors:
        yield line(f"{page.file} cannot be used: {plural(len(page.errors), 'error')}", "bad")
        return
    yield line(f"{page.file} can be used", "good")
    counted = [plural(count, name, _many(name)) for name, count in page.counts.items() if count]
    yield from paragraph(f"{page.site}: {', '.join(counted)}")


def _many(name: str) -> str:
    return {"box": "boxes", "gear": "pieces of gear", "kind": "kinds that may be bought"}.get(name, "")


def _problems(title: str, problems: Iterable[Problem], style: str) -> Iterator[Line]:
    """List problems unwrapped, each beginning with its file and line, so that editors find the place."""
    found = list(problems)
    if not found:
        return
    yield from heading(f"{title} ({len(found)})")
    for item in found:
        yield line(str(item), style)


def _rest(page: CheckPage) -> Iterator[Line]:
    yield from _problems("Worth a look", page.warnings, "doubt")
    if page.conversions:
        yield from heading(f"Converted ({len(page.conversions)})")
        for conversion in page.conversions:
            yield line(str(conversion))
    if page.defaults:
        yield from heading(f"Left out, so taken as usual ({len(page.defaults)})")
        for text in grouped(page.defaults):
            yield from paragraph(text, hang="    ")
    if page.assumed:
        yield from heading(f"Assumed: nobody measured or declared these; results from them carry {MARK}")
        yield from assumed_table(page.assumed)


def grouped(defaults: Iterable[Default]) -> list[str]:
    """Write defaults as sentences; the same default of several boxes, services and so on is one sentence."""
    names: dict[tuple[str, str, str], list[str]] = {}
    for item in defaults:
        section, _, rest = item.path.partition(".")
        name, _, figure = rest.partition(".")
        shared = section in NAMED and figure
        key = (f"{figure} of {section}" if shared else item.path, item.value, item.why)
        names.setdefault(key, []).extend([name] if shared else [])
    return [
        f"{path}: {value} ({why})" + (f": {', '.join(of)}" if of else "")
        for (path, value, why), of in names.items()
    ]


def check_plain(page: CheckPage) -> list[Line]:
    """Set the page with one fact a line."""
    facts = [f"error: {item}" for item in page.errors]
    facts += [f"warning: {item}" for item in page.warnings]
    facts += [f"converted: {item}" for item in page.conversions]
    facts += [f"default: {item}" for item in page.defaults]
    facts += [f"assumed for {item.of}: {', '.join(map(figure_name, item.figures))}" for item in page.assumed]
    facts += [f"holds: {plural(count, name, _many(name))}" for name, count in page.counts.items()]
    return [line(f"file {page.file}: {'usable' if page.usable else 'not usable'}"), *map(line, facts)]
