"""Services that depend on each other in a ring: named, and moved together or with one edge broken."""

from __future__ import annotations

import networkx as nx

from planner.domain import practice
from planner.domain.order import Cycle
from planner.domain.services import Service
from planner.domain.site import Site


def forbidden(site: Site, one: Service, other: Service) -> str | None:
    """Look up the reason why two services must not move in one wave, None when they may."""
    if one.roles & practice.DIRECTORY_ROLES and other.roles & practice.DIRECTORY_ROLES:
        return "directory and name servers move one a wave, with clean replication between"
    if practice.BACKUP_ROLE in one.roles | other.roles:
        return "a service and its backup server never move in one wave"
    for rule in site.apart:
        if {one.name, other.name} <= rule.services and one.roles & other.roles:
            return "both halves of a pair never move in one wave"
    return None


def is_root(site: Site, consumer: str, provider: str) -> bool:
    """Say whether a provider is what a consumer authenticates to, finds names by or boots from."""
    return bool(site.service[provider].roles & practice.ROOT_ROLES) and consumer != provider


def dependencies(site: Site, moved: tuple[str, ...]) -> list[tuple[str, str]]:
    """List (consumer, provider) of moved services, also by way of services that do not move."""
    graph = nx.DiGraph([(item.name, other) for item in site.services for other in item.depends_on])
    graph.add_nodes_from(item.name for item in site.services)
    still = [name for name in graph.nodes if name not in moved]
    for name in still:
        graph.add_edges_from(
            (before, after)
            for before in list(graph.predecessors(name))
            for after in list(graph.successors(name))
        )
        graph.remove_node(name)
    return sorted((one, other) for one, other in graph.edges if one != other)


def cycles(site: Site, moved: tuple[str, ...]) -> tuple[Cycle, ...]:
    """Find every ring of ``depends_on``; those of moved services with the cheapest edges broken."""
    graph = nx.DiGraph([(item.name, other) for item in site.services for other in item.depends_on])
    rings = [tuple(sorted(group)) for group in nx.strongly_connected_components(graph) if len(group) > 1]
    kept = nx.DiGraph(dependencies(site, moved))
    return tuple(
        Cycle(
            ring,
            tuple(name for name in ring if name in moved),
            _broken(site, kept.subgraph(ring).copy()),
        )
        for ring in sorted(rings)
    )


def _broken(site: Site, graph: nx.DiGraph[str]) -> tuple[tuple[str, str], ...]:
    broken: list[tuple[str, str]] = []
    while True:
        bad = [
            (consumer, provider)
            for group in nx.strongly_connected_components(graph)
            if _clashes(site, group)
            for consumer, provider in graph.subgraph(group).edges
        ]
        if not bad:
            return tuple(broken)
        cheapest = min(bad, key=lambda edge: price(site, *edge))
        graph.remove_edge(*cheapest)
        broken.append(cheapest)


def _clashes(site: Site, group: set[str]) -> bool:
    names = sorted(group)
    pairs = [(one, other) for index, one in enumerate(names) for other in names[index + 1 :]]
    return any(
        forbidden(site, site.service[one], site.service[other])
        or is_root(site, one, other)
        or is_root(site, other, one)
        for one, other in pairs
    )


def price(site: Site, consumer: str, provider: str) -> tuple[bool, bool, float, str, str]:
    """Compute what breaking a dependency costs, to compare: cheap where the consumer may be down."""
    item = site.service[consumer]
    allowed = float("inf") if item.downtime_min is None else item.downtime_min
    return (bool(item.roles & practice.CRITICAL_ROLES), item.restart, -allowed, consumer, provider)
