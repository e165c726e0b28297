"""Whether the work of each wave fits its window, the windows are the site's, and nothing is down too long."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from planner.domain import practice
from planner.domain.order import Sort, Task, WrittenWave
from planner.domain.rules import Windows
from planner.domain.services import Service
from planner.domain.state import role_today
from planner.physics.storage import COPY_MB_S_PER_MBIT_S
from planner.verify.moves.room import SimulatedRoom, Walked
from planner.verify.trial import Breach, exceeds, number

CENT = 0.01
ROUNDED_H = 0.005
"""How far hours on paper, which have two decimals, may lie under what they stand for."""


def timing(room: SimulatedRoom, wave: WrittenWave, before: WrittenWave | None) -> Iterator[Breach]:
    """Find waves out of their turn, outside the site's windows, or with more work than fits."""
    if wave.start is None or wave.end is None or wave.is_past:
        return
    start, end = wave.start.astimezone(UTC), wave.end.astimezone(UTC)
    if end <= start:
        yield Breach(Walked.TIME, f"wave {wave.number}", f"wave {wave.number} ends before it starts")
        return
    if before is not None and before.end is not None and start < before.end.astimezone(UTC):
        text = f"wave {wave.number} starts before wave {before.number} is over"
        yield Breach(Walked.TIME, f"wave {wave.number}", text)
    if not _is_in_a_window(room.site.windows, wave.start, wave.end):
        text = f"wave {wave.number}, {wave.start:%a %Y-%m-%d %H:%M}, lies in no maintenance window"
        yield Breach(Walked.WINDOW, f"wave {wave.number}", text)
    for day in _left_out(room.site.windows, wave.start, wave.end):
        text = f"wave {wave.number} runs into {day}, a day without any window"
        yield Breach(Walked.WINDOW, f"wave {wave.number}", text)
    yield from _work(room, wave, (end - start) / timedelta(hours=1))


def money(room: SimulatedRoom) -> Iterator[Breach]:
    """Find months in which more is spent than a month has, by something that is still to be done.

    What has no date is spent in no month, the rest in the month in which its window begins.
    """
    site, monthly = room.site, room.site.policy.monthly_budget
    if monthly is None:
        return
    spent: dict[str, float] = {}
    ahead = set()
    for wave in room.order.waves:
        if wave.start is not None:
            month = f"{wave.start.astimezone(ZoneInfo(site.windows.timezone)):%Y-%m}"
            spent[month] = spent.get(month, 0.0) + sum(_price(room, task) for task in wave.tasks)
            if not wave.is_past and any(_price(room, task) for task in wave.tasks):
                ahead.add(month)
    for month, sum_spent in spent.items():
        if month in ahead and sum_spent > monthly + CENT:
            text = f"in {month} {number(sum_spent)} {site.currency} are spent, a month has {number(monthly)}"
            yield Breach(Walked.MONEY, month, text)


def _price(room: SimulatedRoom, task: Task) -> float:
    """Compute what a task costs: what is bought, re-used in another role, or brought in and not owned."""
    site, name = room.site, task.subject
    then = next((machine for machine in room.target.machines if machine.name == name), None)
    if task.sort is Sort.BRING_IN and then is not None and then.kind is not None:
        return site.kind[then.kind].price
    if task.sort is Sort.REUSE and then is not None and name in site.box:
        return site.box[name].reuse_price if then.role is not role_today(site, name) else 0.0
    if task.sort is Sort.COOLING_ON and name in site.cooling_option:
        option = site.cooling_option[name]
        return 0.0 if option.owned or option.runs_today else option.price
    return site.measure[name].price if task.sort is Sort.MEASURE and name in site.measure else 0.0


def _is_in_a_window(rules: Windows, start: datetime, end: datetime) -> bool:
    zone = ZoneInfo(rules.timezone)
    first = start.astimezone(zone).date() - timedelta(days=1)
    for day in (first, first + timedelta(days=1)):
        for item in rules.recurring or practice.WINDOW_HABIT:
            if item.weekday != day.weekday() or day in rules.blackouts:
                continue
            opens = datetime.combine(day, item.start, tzinfo=zone).astimezone(UTC)
            if opens <= start and end <= opens + timedelta(hours=item.hours):
                return True
    return False


def _left_out(rules: Windows, start: datetime, end: datetime) -> list[date]:
    """List the days left out that a span of time touches for longer than a moment."""
    zone = ZoneInfo(rules.timezone)
    first = start.astimezone(zone).date()
    last = (end.astimezone(UTC) - timedelta(microseconds=1)).astimezone(zone).date()
    return sorted(day for day in rules.blackouts if first <= day <= last)


def _work(room: SimulatedRoom, wave: WrittenWave, length_h: float) -> Iterator[Breach]:
    each_h = {task.id: max(task.hours, _least_h(room, task)) + task.way_back_h for task in wave.tasks}
    there_h = length_h * room.site.windows.crew
    slack_h = 2.0 * ROUNDED_H * len(each_h)
    whole_h = sum(each_h.values())
    if whole_h > there_h + slack_h:
        text = f"wave {wave.number} takes {whole_h:.1f} h with its way back, there are {there_h:.1f} h"
        yield Breach(Walked.WORK, f"wave {wave.number}", text)
    for name, hours in each_h.items():
        if hours > length_h + slack_h:
            text = f"'{name}' takes {hours:.1f} h with its way back, wave {wave.number} has {length_h:.1f} h"
            yield Breach(Walked.WORK, f"wave {wave.number}", text)


def _least_h(room: SimulatedRoom, task: Task) -> float:
    """Compute what a move takes at the very least: copying inside the window and the checks after it.

    On a box that is rebuilt under it a service gets all of its data back, whatever its method.
    """
    if task.sort is not Sort.MOVE:
        return 0.0
    service = room.site.service[task.subject]
    if "directory" in service.roles:
        return practice.PROMOTE_HOURS + practice.TEST_HOURS
    if _is_in_place(room, service):
        return _copying_h(room, service) + practice.TEST_HOURS
    share = practice.COPY_SHARE.get(task.method or service.method, 1.0)
    return _copying_h(room, service) * share + practice.TEST_HOURS


def _copying_h(room: SimulatedRoom, service: Service) -> float:
    """Compute the hours to copy all of a service over the slower of two networks; endless without one."""
    networks = (room.site.box[service.box].spec, room.goal_of(service.name).spec(room.site))
    mb_s = min(spec.network_mbps for spec in networks) * COPY_MB_S_PER_MBIT_S
    megabytes = 1000.0 * max(service.demand.disk_gb)
    if megabytes <= 0.0:
        return 0.0
    return float("inf") if mb_s <= 0.0 else megabytes / mb_s / 3600.0


def downtime(room: SimulatedRoom, task: Task) -> Iterator[Breach]:
    """Find a move that keeps its service down for longer than it bears, or is not done as it may be."""
    service = room.site.service[task.subject]
    if service.method_said and task.method not in ("", service.method) and "directory" not in service.roles:
        text = f"{service.name} is moved by {task.method}; the inventory says {service.method}"
        yield Breach(Walked.METHOD, service.name, text)
    if service.downtime_min is None:
        return
    down_min = max(60.0 * (task.down_h - ROUNDED_H), _least_down_min(room, service, task))
    if exceeds(down_min, service.downtime_min):
        text = f"{service.name} is down for {number(round(down_min, 1))} min, it bears "
        yield Breach(Walked.DOWNTIME, service.name, f"{text}{number(service.downtime_min)} min")


def _is_in_place(room: SimulatedRoom, service: Service) -> bool:
    """Say whether a service that moves stays on its box: that is rebuilt under it."""
    return room.goal_of(service.name).box == service.box


def _least_down_min(room: SimulatedRoom, service: Service, task: Task) -> float:
    """Compute how long a service is down at least: while it is copied, or its own box is rebuilt for it.

    In the second case it is down from the rebuilding on until it is set up there again, which its method in
    the inventory tells, not that of the order: nothing is replicated where old and new are one machine.
    """
    if _is_in_place(room, service):
        rebuilt_h = room.site.box[service.box].reuse_hours or practice.REUSE_HOURS
        if "directory" in service.roles:
            return 60.0 * (rebuilt_h + practice.PROMOTE_HOURS)
        setup_h = practice.SETUP_HOURS.get(service.method, practice.SETUP_HOURS["convert"])
        return 60.0 * (rebuilt_h + setup_h + _copying_h(room, service))
    is_copied = "directory" not in service.roles and (task.method or service.method) != "replicate"
    return 60.0 * ((_copying_h(room, service) if is_copied else 0.0) + practice.WAY_BACK_HOURS)
