"""Tasks that wait for each other across waves: untied by a dependency given up, else by an outage."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import networkx as nx

from planner.domain.order import Sort, Task
from planner.moves.tasks.cycles import forbidden, price
from planner.moves.tasks.precedence import Lag, Link
from planner.moves.tasks.state_difference import Change

Pair = tuple[str, str]


@dataclass(frozen=True)
class Untied:
    """Links that can all be kept, what was said about the others, and dependencies given up.

    ``given_up`` are (consumer, provider): the consumer moves first. ``outages`` are knots that no dependency
    unties: their tasks are done in one wave.
    """

    links: tuple[Link, ...]
    texts: tuple[str, ...] = ()
    given_up: tuple[Pair, ...] = ()
    outages: tuple[frozenset[str], ...] = ()


def folded(ids: Sequence[str], links: Sequence[Link], bundles: Sequence[Pair]) -> nx.DiGraph[str]:
    """Build the tasks as a graph in which what is done in one wave is a ring."""
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(ids)
    graph.add_edges_from((link.before, link.after) for link in links)
    for one, other in bundles:
        graph.add_edges_from(((one, other), (other, one)))
    return graph


def clash(change: Change, one: str, other: str) -> bool:
    """Say whether two services must not move in one wave."""
    return forbidden(change.site, change.site.service[one], change.site.service[other]) is not None


def untied(
    change: Change, by_id: Mapping[str, Task], links: tuple[Link, ...], bundles: Sequence[Pair]
) -> Untied:
    """Untie every knot: the cheapest dependency that does it, else an outage, is named."""
    result = Untied(links)
    while True:
        knot = _first_knot(tuple(by_id), result.links, bundles)
        if knot is None:
            return result
        given = _dependency_to_break(change, knot, result.links, bundles)
        result = _without(result, given) if given else _with_outage(change, by_id, knot, result)


def _knots(ids: Sequence[str], links: Sequence[Link], bundles: Sequence[Pair]) -> list[frozenset[str]]:
    groups = [frozenset(group) for group in nx.strongly_connected_components(folded(ids, links, bundles))]
    return [group for group in groups if _tight(group, links)]


def _tight(group: frozenset[str], links: Sequence[Link]) -> list[Link]:
    return [link for link in links if link.lag is not Lag.SAME and {link.before, link.after} <= group]


def _first_knot(ids: Sequence[str], links: Sequence[Link], bundles: Sequence[Pair]) -> frozenset[str] | None:
    return min(_knots(ids, links, bundles), key=min, default=None)


def _dependency_to_break(
    change: Change, knot: frozenset[str], links: Sequence[Link], bundles: Sequence[Pair]
) -> tuple[Link, ...]:
    """List the cheapest dependency without which the knot is none, or all of its dependencies, or none."""
    inside = [link for link in links if {link.before, link.after} <= knot]
    bundled = [pair for pair in bundles if set(pair) <= knot]
    chances = [link for link in inside if link.dependency is not None]
    chances.sort(key=lambda link: price(change.site, *(link.dependency or ("", ""))))
    for given in [*((link,) for link in chances), tuple(chances)]:
        if given and not _knots(sorted(knot), [link for link in inside if link not in given], bundled):
            return given
    return ()


def _without(result: Untied, given: tuple[Link, ...]) -> Untied:
    pairs = tuple(link.dependency for link in given if link.dependency is not None)
    texts = tuple(map(broken_text, pairs))
    kept = tuple(link for link in result.links if link not in given)
    return replace(result, links=kept, texts=(*result.texts, *texts), given_up=(*result.given_up, *pairs))


def broken_text(pair: Pair) -> str:
    """Say that a consumer moves before its provider, and what to do about it."""
    consumer, provider = pair
    return (
        f"Dependency broken: {consumer} moves before {provider}, which it depends on; otherwise both wait "
        f"for each other. Point {consumer} at the new place of {provider} once that has moved."
    )


def _with_outage(change: Change, by_id: Mapping[str, Task], knot: frozenset[str], result: Untied) -> Untied:
    tight = _tight(knot, result.links)
    services = sorted(by_id[id_].subject for id_ in knot if by_id[id_].sort is Sort.MOVE)
    clashes = any(clash(change, one, other) for one, other in combinations(services, 2))
    loose = () if clashes else tuple(replace(link, lag=Lag.SAME) for link in tight)
    return replace(
        result,
        links=(*(link for link in result.links if link not in tight), *loose),
        texts=(*result.texts, _outage_text(tight, clashes)),
        outages=(*result.outages, knot),
    )


def _outage_text(tight: Sequence[Link], clashes: bool) -> str:
    waits = "; ".join(f"'{link.after}' waits for '{link.before}' ({link.because})" for link in tight)
    way = (
        "these waits are given up and must be watched"
        if clashes
        else "they are done in one wave with an announced outage"
    )
    return f"Deadlock: {waits}. Without a borrowed machine to step on, {way}."
