"""What must never move in one wave, and what must not move before what it depends on."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from planner.domain.order import Task, WrittenWave
from planner.domain.practice import BACKUP_ROLE, DAY_H, DIRECTORY_ROLES, ROOT_ROLES
from planner.domain.services import Service
from planner.verify.moves.room import SimulatedRoom, Walked, is_after
from planner.verify.trial import Breach


def co_scheduling(room: SimulatedRoom, wave: WrittenWave) -> Iterator[Breach]:
    """Find services that must not move in one wave, or not so soon after each other."""
    moving = [room.site.service[name] for name in wave.moves if name in room.site.service]
    for service in moving:
        yield from _soon(room, wave, service)
    for one, other in combinations(moving, 2):
        yield from _together(room, wave, one, other)


def _soon(room: SimulatedRoom, wave: WrittenWave, service: Service) -> Iterator[Breach]:
    if not service.roles & DIRECTORY_ROLES:
        return
    for name, since in room.moved.items():
        if room.site.service[name].roles & DIRECTORY_ROLES and not is_after(since, wave, DAY_H):
            text = f"{service.name} moves less than a day after {name}"
            yield Breach(Walked.DIRECTORY, service.name, text)


def _together(room: SimulatedRoom, wave: WrittenWave, one: Service, other: Service) -> Iterator[Breach]:
    both = f"wave {wave.number} moves {one.name} and {other.name}"
    if one.roles & DIRECTORY_ROLES and other.roles & DIRECTORY_ROLES:
        yield Breach(Walked.DIRECTORY, one.name, f"{both}, both directory servers")
    if BACKUP_ROLE in one.roles | other.roles:
        yield Breach(Walked.BACKUP_COMPANY, one.name, f"{both}, one the other's backup")
    for rule in room.site.apart:
        if {one.name, other.name} <= rule.services and one.roles & other.roles:
            yield Breach(Walked.PAIR, one.name, f"{both}, two halves of a pair: {rule.because}")


def providers(room: SimulatedRoom, task: Task, wave: WrittenWave) -> Iterator[Breach]:
    """Find what moves before, or too soon after, what it depends on, is found by, or signs in to."""
    name, order = task.subject, room.order
    moving = {other for each in order.waves for other in each.moves}
    given_up = {edge for ring in order.cycles for edge in ring.broken} | {*order.given_up}
    rings = [frozenset(ring.services) for ring in order.cycles]
    for provider in room.site.service[name].depends_on:
        if provider not in moving or (name, provider) in given_up:
            continue
        in_ring = any({name, provider} <= ring for ring in rings)
        since = room.moved.get(provider)
        if since is None and not (in_ring and provider in wave.moves):
            yield Breach(Walked.PROVIDER, name, f"{name} moves before {provider}, which it depends on")
        is_root = bool(room.site.service[provider].roles & ROOT_ROLES)
        if is_root and provider != name and since is not None and not is_after(since, wave, DAY_H):
            text = f"{name} moves less than a day after {provider}, which it boots from or signs in to"
            yield Breach(Walked.ROOT, name, text)


def rings(room: SimulatedRoom) -> Iterator[Breach]:
    """Find orders that excuse themselves with dependencies or rings that the site does not have."""
    reach = {item.name: _reach(room, item.name) for item in room.site.services}
    for ring in room.order.cycles:
        for name in ring.services:
            if not {*ring.services} <= reach.get(name, set()):
                text = f"{name} is said to be in a ring with {', '.join(ring.services)}; it is not"
                yield Breach(Walked.RING, name, text)
    given_up = [*room.order.given_up, *(edge for ring in room.order.cycles for edge in ring.broken)]
    for consumer, provider in given_up:
        if provider not in reach.get(consumer, set()):
            text = f"{consumer} is said to depend on {provider}, which is given up; it does not"
            yield Breach(Walked.RING, consumer, text)


def _reach(room: SimulatedRoom, name: str) -> set[str]:
    """List all that a service depends on, at any remove."""
    found: set[str] = set()
    ahead = [name]
    while ahead:
        for other in room.site.service[ahead.pop()].depends_on:
            if other not in found and other in room.site.service:
                found.add(other)
                ahead.append(other)
    return found
