"""The work as blocks: tasks that are done in one wave, what follows what, and what never goes together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Set
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations

import networkx as nx

from planner.domain import practice
from planner.domain.order import Cycle, Sort, Task, task_id
from planner.moves.tasks.cycles import cycles, forbidden
from planner.moves.tasks.deadlocks import Untied, clash, folded, untied
from planner.moves.tasks.precedence import Lag, Link, groups, links, swaps
from planner.moves.tasks.state_difference import Change
from planner.moves.tasks.task_list import tasks

ORDER = {sort: rank for rank, sort in enumerate(Sort)}
RELEASING = frozenset({Sort.HOLD, Sort.MEASURE, Sort.COOLING_OFF, Sort.RETIRE})
"""What takes load or cooling away: done after all that adds load."""


@dataclass(frozen=True)
class Block:
    """Tasks that are done in one wave, in order; ``name`` is the id of its leading task."""

    name: str
    tasks: tuple[Task, ...]

    @cached_property
    def ids(self) -> frozenset[str]:
        """The ids of its tasks."""
        return frozenset(task.id for task in self.tasks)

    @cached_property
    def moves(self) -> tuple[str, ...]:
        """The services it moves."""
        return tuple(task.subject for task in self.tasks if task.sort is Sort.MOVE)

    @cached_property
    def hours(self) -> float:
        """Attended work and the way back, h."""
        return sum(task.hours + task.way_back_h for task in self.tasks)

    @cached_property
    def sorts(self) -> frozenset[Sort]:
        """What its tasks are."""
        return frozenset(task.sort for task in self.tasks)


@dataclass(frozen=True)
class Never:
    """At most one of these blocks in a wave, and why."""

    blocks: tuple[str, ...]
    because: str


@dataclass(frozen=True)
class Work:
    """Everything to be done: tasks and links, folded into blocks with lags between them.

    ``untied`` says which tasks wait for each other, and what is given up for that. ``past`` are tasks that
    are done already; ``blocks`` and ``links`` are about the others.
    """

    change: Change
    tasks: Mapping[str, Task]
    links: tuple[Link, ...]
    blocks: tuple[Block, ...]
    nevers: tuple[Never, ...]
    cycles: tuple[Cycle, ...]
    untied: Untied
    pilot: tuple[str, ...]
    past: frozenset[str] = frozenset()

    @property
    def knots(self) -> tuple[str, ...]:
        """What is given up because tasks wait for each other, in words."""
        return self.untied.texts

    @cached_property
    def block(self) -> Mapping[str, Block]:
        """Blocks by name."""
        return {block.name: block for block in self.blocks}

    @cached_property
    def prices(self) -> Mapping[str, float]:
        """What is still to be paid for blocks, by name, of those that cost something."""
        open_ = {b.name: [task.price for task in b.tasks if task.id not in self.past] for b in self.blocks}
        return {name: sum(prices) for name, prices in open_.items() if sum(prices) > 0.0}

    @cached_property
    def of_task(self) -> Mapping[str, str]:
        """The name of the block of each task."""
        return {id_: block.name for block in self.blocks for id_ in block.ids}

    @cached_property
    def lags(self) -> Mapping[tuple[str, str], Lag]:
        """The strictest lag between two blocks, pilot first."""
        return _lags(self.links, self.of_task, self.pilot, self.blocks)

    @cached_property
    def graph(self) -> nx.DiGraph[str]:
        """Blocks and what follows what, acyclic; each edge has its ``lag``."""
        graph: nx.DiGraph[str] = nx.DiGraph()
        graph.add_nodes_from(block.name for block in self.blocks)
        for (before, after), lag in self.lags.items():
            graph.add_edge(before, after, lag=lag)
        return graph

    @cached_property
    def needed(self) -> Mapping[str, frozenset[str]]:
        """The blocks that must be done before each block, by however many steps."""
        closure = nx.transitive_closure_dag(self.graph)
        return {name: frozenset(closure.predecessors(name)) for name in closure.nodes}

    @cached_property
    def late(self) -> frozenset[str]:
        """Blocks done at the end of a wave: they take something away, or follow in it what does."""
        found: set[str] = set()
        for name in nx.topological_sort(self.graph):
            block = self.block[name]
            follows = any(
                before in found and self.lags[before, name] is Lag.SAME
                for before in self.graph.predecessors(name)
            )
            if not block.moves and (block.sorts & RELEASING or follows):
                found.add(name)
        return frozenset(found)

    @cached_property
    def late_tasks(self) -> frozenset[str]:
        """The tasks of the late blocks."""
        return frozenset(id_ for name in self.late for id_ in self.block[name].ids)


def rest_of(work: Work, done: Set[str]) -> Work:
    """Build what is left of a work once some tasks are done; a block counts once all its tasks are."""
    left = tuple(block for block in work.blocks if not block.ids <= done)
    names, ids = {block.name for block in left}, {id_ for block in left for id_ in block.ids}
    nevers = (Never(tuple(n for n in rule.blocks if n in names), rule.because) for rule in work.nevers)
    return replace(
        work,
        links=tuple(link for link in work.links if {link.before, link.after} <= ids),
        blocks=left,
        nevers=tuple(rule for rule in nevers if len(rule.blocks) > 1),
        pilot=tuple(name for name in work.pilot if name in names),
        past=frozenset(work.tasks) - ids,
    )


def work_of(change: Change, *, wishes: bool = True) -> Work:
    """Derive the work that leads from a site today to a state; without ``wishes`` by rules alone."""
    rings = cycles(change.site, change.moved)
    by_id = {task.id: task for task in tasks(change)}
    loose = untied(change, by_id, links(change, rings, wishes=wishes), _bundles(change, by_id))
    found = loose.links
    blocks = _blocks(by_id, found, _bundles(change, by_id))
    of_task = {id_: block.name for block in blocks for id_ in block.ids}
    nevers = tuple(_nevers(change, blocks))
    pilot = _pilot(change, blocks, _lags(found, of_task, (), blocks)) if wishes else ()
    return Work(change, by_id, found, blocks, nevers, rings, loose, pilot)


def _bundles(change: Change, by_id: Mapping[str, Task]) -> list[tuple[str, str]]:
    """List pairs of tasks that are always done in one wave."""
    pairs = [(task_id(Sort.BACK_UP, name), task_id(Sort.MOVE, name)) for name in change.moved]
    for name in sorted(change.in_place):
        pairs.append((task_id(Sort.REUSE, change.goal[name].name), task_id(Sort.MOVE, name)))
    for one, other in groups(change):
        if not clash(change, by_id[one].subject, by_id[other].subject):
            pairs.append((one, other))
    return [*pairs, *swaps(change)]


def _blocks(
    by_id: Mapping[str, Task], found: tuple[Link, ...], bundles: list[tuple[str, str]]
) -> tuple[Block, ...]:
    rank = {id_: (ORDER[task.sort], index) for index, (id_, task) in enumerate(by_id.items())}
    blocks = []
    for group in nx.strongly_connected_components(folded(tuple(by_id), found, bundles)):
        inside: nx.DiGraph[str] = nx.DiGraph()
        inside.add_nodes_from(group)
        inside.add_edges_from(
            (link.before, link.after) for link in found if {link.before, link.after} <= group
        )
        ids = _in_order(inside, rank)
        leading = max(ids, key=lambda id_: (by_id[id_].sort is Sort.MOVE, by_id[id_].sort is Sort.REUSE))
        blocks.append(Block(leading, tuple(by_id[id_] for id_ in ids)))
    return tuple(sorted(blocks, key=lambda block: min(rank[task.id] for task in block.tasks)))


def _in_order(graph: nx.DiGraph[str], rank: Mapping[str, tuple[int, int]]) -> list[str]:
    """Sort the nodes in topological order, else by rank; in a ring backups come first."""
    if nx.is_directed_acyclic_graph(graph):
        return list(nx.lexicographical_topological_sort(graph, key=lambda id_: rank[id_]))
    return sorted(graph.nodes, key=lambda id_: (rank[id_][0] != ORDER[Sort.BACK_UP], rank[id_]))


def _lags(
    found: tuple[Link, ...], of_task: Mapping[str, str], pilot: tuple[str, ...], blocks: tuple[Block, ...]
) -> dict[tuple[str, str], Lag]:
    lags: dict[tuple[str, str], Lag] = {}
    for link in found:
        pair = of_task[link.before], of_task[link.after]
        if pair[0] != pair[1]:
            lags[pair] = max(link.lag, lags.get(pair, Lag.SAME))
    for first in pilot:
        for block in blocks:
            if block.moves and block.name not in pilot:
                lags[first, block.name] = max(Lag.LATER, lags.get((first, block.name), Lag.SAME))
    return lags


def _nevers(change: Change, blocks: tuple[Block, ...]) -> Iterator[Never]:
    service = change.site.service
    moving = [block for block in blocks if block.moves]
    servers = tuple(
        block.name
        for block in moving
        if any(service[name].roles & practice.DIRECTORY_ROLES for name in block.moves)
    )
    if len(servers) > 1:
        yield Never(servers, "directory and name servers move one a wave, with clean replication between")
    for one, other in combinations(moving, 2):
        if one.name in servers and other.name in servers:
            continue
        reasons = (forbidden(change.site, service[a], service[b]) for a in one.moves for b in other.moves)
        reason = next((text for text in reasons if text), None)
        if reason:
            yield Never((one.name, other.name), reason)


def _pilot(change: Change, blocks: tuple[Block, ...], lags: Mapping[tuple[str, str], Lag]) -> tuple[str, ...]:
    """Choose the pilot: up to three harmless services for one machine that nothing has to go before."""
    moving = [block for block in blocks if block.moves]
    if len(moving) < 2:
        return ()
    graph = nx.DiGraph(list(lags))
    graph.add_nodes_from(block.name for block in blocks)
    names = {block.name for block in moving}
    free = [block for block in moving if not nx.ancestors(graph, block.name) & names]
    wanted = {other for service in change.site.services for other in service.depends_on}
    harmless = [b for b in free if len(b.moves) == 1 and _is_harmless(change, b.moves[0], wanted)]
    if harmless:
        ranked = sorted(harmless, key=lambda block: (block.hours, block.name))
        host = change.goal[ranked[0].moves[0]].name
        beside = [block for block in ranked if change.goal[block.moves[0]].name == host]
        return tuple(sorted(block.name for block in beside[: practice.PILOT_MOST]))
    least = min(free, key=lambda b: (len(b.moves), len(nx.descendants(graph, b.name)), b.hours, b.name))
    return (least.name,)


def _is_harmless(change: Change, name: str, wanted: set[str]) -> bool:
    service = change.site.service[name]
    return name not in wanted and not service.roles & practice.CRITICAL_ROLES and service.downtime_min is None
