"""Random policies and rules between services for the site generator."""

from __future__ import annotations

import random
from collections.abc import Sequence

from planner.domain.rules import Aim, Apart, Policy, Quorum, Together
from planner.domain.services import Service


def policy(rng: random.Random) -> Policy:
    """Make limits and wishes: aims in any order, budgets from none to tight."""
    aims = list(Aim)
    if rng.random() < 0.3:
        rng.shuffle(aims)
    share = rng.choice((0.0, 0.2, 0.25))
    return Policy(
        aims=tuple(aims),
        headroom={"cpu": share, "memory_gib": share, "disk_gb": 0.1} if rng.random() < 0.8 else {},
        vcpu_per_core=rng.choice((2.0, 4.0)),
        host_memory_gib=rng.choice((2.0, 4.0)),
        guest_memory_gib=rng.choice((0.25, 0.5)),
        host_cpu_share=rng.choice((0.0, 0.1)),
        budget=rng.choice((None, None, 5000.0, 3000.0, 1000.0)),
        labour_per_hour=float(rng.choice((0, 50))),
        inlet_limit_c=rng.choice((27.0, 27.0, 30.0)),
    )


def together(rng: random.Random, services: Sequence[Service]) -> tuple[Together, ...]:
    """List at most one pair that must share a machine."""
    if len(services) < 2 or rng.random() < 0.6:
        return ()
    pair = rng.sample([service.name for service in services], 2)
    return (Together(frozenset(pair), "they share files"),)


def apart(rng: random.Random, services: Sequence[Service], together: Sequence[Together]) -> tuple[Apart, ...]:
    """List at most one set that must not share a machine, never one that a pair contradicts."""
    if len(services) < 2 or rng.random() < 0.4:
        return ()
    count = min(len(services), rng.choice((2, 2, 3)))
    names = frozenset(rng.sample([service.name for service in services], count))
    if any(len(rule.services & names) > 1 for rule in together):
        return ()
    return (Apart(names, "one must outlive the other"),)


def quorums(rng: random.Random, services: Sequence[Service]) -> tuple[Quorum, ...]:
    """List at most one pair of which one must not be a guest."""
    if len(services) < 2 or rng.random() < 0.7:
        return ()
    names = frozenset(rng.sample([service.name for service in services], 2))
    return (Quorum(names, 1, "somebody must answer before the hosts are up"),)
