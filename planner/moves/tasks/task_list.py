"""Tasks: the single steps from today to a state, each with its hours, checks, way back and cautions.

Why so: what must hold before a wave and what must hold after a step are two lists (`Task.go_no_go`,
`Task.done_when`): nobody can tick a box beforehand that only the wave can bring.
"""

from __future__ import annotations

from collections.abc import Iterator

from planner.domain import practice
from planner.domain.measures import ROOM
from planner.domain.order import Sort, Task, task_id
from planner.domain.state import Machine, role_today
from planner.moves.tasks import cautions
from planner.moves.tasks.state_difference import Change


def tasks(change: Change) -> tuple[Task, ...]:
    """Build every task from today to the target, in a fixed order; empty when nothing changes."""
    return (
        *_machines_in(change),
        *(_cooling_on(change, name) for name in change.cooling_on),
        *(_reuse(change, name) for name in change.rebuilt),
        *(_replug(change, name) for name in change.replugged),
        *(task for name in change.moved for task in (_back_up(change, name), _move(change, name))),
        *(_hold(name) for name in change.held),
        *(_measure(change, name) for name in change.measures),
        *(_cooling_off(change, name) for name in change.cooling_off),
        *(_retire(change, name) for name in change.leaving),
    )


def _machines_in(change: Change) -> Iterator[Task]:
    for machine in change.bought:
        yield _bring_in(change, machine)
        yield _prepare(change, machine)


def _bring_in(change: Change, machine: Machine) -> Task:
    limit_c, kind = change.site.policy.inlet_limit_c, change.site.kind[machine.kind or ""]
    soak = f"a {practice.SOAK_HOURS:.0f} h soak under load without a fault"
    return Task(
        id=task_id(Sort.BRING_IN, machine.name),
        sort=Sort.BRING_IN,
        subject=machine.name,
        hours=practice.RACK_HOURS,
        text=f"Bring in {machine.name}, power it from {machine.circuit} and start {soak}.",
        go_no_go=(f"{machine.circuit} carries {machine.name} beside what is on it",),
        done_when=(f"the room stays at or under {limit_c:.0f} °C with {machine.name} on",),
        rollback=f"Switch {machine.name} off; nothing runs on it yet.",
        cautions=cautions.MACHINE_IN,
        price=kind.price,
    )


def _prepare(change: Change, machine: Machine) -> Task:
    kind = change.site.kind[machine.kind or ""]
    return Task(
        id=task_id(Sort.PREPARE, machine.name),
        sort=Sort.PREPARE,
        subject=machine.name,
        hours=kind.hours or practice.PREPARE_HOURS,
        text=f"Install {machine.name} as {machine.role.value}: storage, network, monitoring, remote access.",
        done_when=(f"{machine.name} is watched, can be reached from outside, and its alarms arrive",),
        rollback=f"Leave {machine.name} empty and install it again.",
    )


def _reuse(change: Change, box: str) -> Task:
    machine = change.kept[box]
    down = ", ".join(name for name in change.residents[box] if name in change.in_place)
    return Task(
        id=task_id(Sort.REUSE, box),
        sort=Sort.REUSE,
        subject=box,
        hours=change.site.box[box].reuse_hours or practice.REUSE_HOURS,
        text=f"Rebuild {box} as {machine.role.value}" + (f", with {down} down meanwhile." if down else "."),
        go_no_go=(
            f"what left {box} has run elsewhere for {practice.HOLD_DAYS} days",
            f"a restored test copy of all that was on {box} is readable",
        ),
        done_when=(f"{box} is watched, can be reached from outside, and its alarms arrive",),
        rollback=f"Restore {box} from its image.",
        cautions=(*cautions.DATA, "circuit-overload"),
        way_back_h=practice.WAY_BACK_HOURS,
        price=change.site.box[box].reuse_price if machine.role is not role_today(change.site, box) else 0.0,
    )


def _replug(change: Change, box: str) -> Task:
    circuit = change.kept[box].circuit
    return Task(
        id=task_id(Sort.REPLUG, box),
        sort=Sort.REPLUG,
        subject=box,
        hours=practice.REPLUG_HOURS,
        text=f"Shut {box} down and plug it over to {circuit}.",
        go_no_go=(f"{circuit} carries {box} beside what is on it",),
        done_when=(f"{box} and all that runs on it are up again",),
        rollback=f"Plug {box} back to {change.site.box[box].circuit}.",
        cautions=("circuit-overload", "mains-ups"),
        way_back_h=practice.WAY_BACK_HOURS,
    )


def _back_up(change: Change, service: str) -> Task:
    box = change.site.service[service].box
    return Task(
        id=task_id(Sort.BACK_UP, service),
        sort=Sort.BACK_UP,
        subject=service,
        hours=practice.BACK_UP_HOURS,
        text=f"Back up {service} on {box} in full and restore it as a test.",
        done_when=(f"the test restore of {service} is readable",),
        cautions=cautions.DATA,
    )


def _move(change: Change, service: str) -> Task:
    item, goal = change.site.service[service], change.goal[service]
    promoted, method = practice.is_promoted(item), _method(change, service)
    return Task(
        id=task_id(Sort.MOVE, service),
        sort=Sort.MOVE,
        subject=service,
        hours=_move_hours(change, service, method),
        text=_move_text(change, service, method),
        go_no_go=tuple(_before_move(change, service)),
        done_when=(
            f"{service} answers its users from {goal.name}",
            f"the name of {service} resolves to {goal.name} everywhere",
            *(("replication between directory servers is clean",) if promoted else ()),
        ),
        rollback=_move_back(change, service),
        cautions=cautions.DATA,
        way_back_h=practice.WAY_BACK_HOURS,
        down_h=_down_h(change, service, method),
        origin=item.box,
        goal=goal.name,
        method=method,
    )


def _before_move(change: Change, service: str) -> Iterator[str]:
    goal = change.goal[service]
    if goal.kind is not None:
        yield f"{goal.name} has soaked {practice.SOAK_HOURS:.0f} h under load without a fault"
    if practice.is_promoted(change.site.service[service]):
        yield "replication between directory servers has been clean for a day"


def _method(change: Change, service: str) -> str:
    """Look up how a service is moved; one whose box is rebuilt under it cannot be replicated."""
    item, goal = change.site.service[service], change.goal[service]
    if practice.is_promoted(item):
        return "promote"
    if service in change.in_place:
        return item.method
    return practice.method_for(item, change.site.box[item.box].spec, goal.spec(change.site))


def _move_hours(change: Change, service: str, method: str) -> float:
    item, goal = change.site.service[service], change.goal[service]
    spec = change.site.box[item.box].spec
    if service in change.in_place:
        return practice.set_up_again_hours(item, spec) + practice.TEST_HOURS
    return practice.move_hours(item, spec, goal.spec(change.site), method)


def _down_h(change: Change, service: str, method: str) -> float:
    """Compute how long a service is down; its users' checks are no part of it, for it answers them."""
    item, goal = change.site.service[service], change.goal[service]
    box = change.site.box[item.box]
    if service in change.in_place:
        rebuilt_h = box.reuse_hours or practice.REUSE_HOURS
        return rebuilt_h + practice.set_up_again_hours(item, box.spec)
    return practice.down_hours(item, box.spec, goal.spec(change.site), method)


def _move_text(change: Change, service: str, method: str) -> str:
    item, goal = change.site.service[service], change.goal[service].name
    if method == "replicate" and service in change.in_place:
        return f"Set {service} up again on {goal} and bring all its data back from the backup."
    why = ""
    if method == "replicate" and not item.method_said and item.downtime_min is not None:
        why = f", for it bears {item.downtime_min:.0f} min down"
    ways = {
        "promote": f"Promote a fresh {service} on {goal}, then demote the one on {item.box}.",
        "rebuild": f"Rebuild {service} on {goal} and copy its data from {item.box}.",
        "replicate": f"Seed a replica of {service} on {goal}, then switch over from {item.box}{why}.",
    }
    return ways.get(method, f"Convert {service} from {item.box} into a guest or image on {goal}.")


def _move_back(change: Change, service: str) -> str:
    item, goal = change.site.service[service], change.goal[service].name
    if service in change.in_place:
        return f"Restore {service} from its backup onto {item.box}."
    if practice.is_promoted(item):
        return f"Demote {service} on {goal} and keep the one on {item.box}; never roll an image back."
    return (
        f"Stop {service} on {goal}, copy back what has been written there since, start it on {item.box} "
        "again and turn its name record back."
    )


def _hold(box: str) -> Task:
    return Task(
        id=task_id(Sort.HOLD, box),
        sort=Sort.HOLD,
        subject=box,
        hours=practice.HOLD_HOURS,
        text=f"Switch {box} off and keep it in place, intact, for {practice.HOLD_DAYS} days.",
        done_when=(f"nothing asks for {box} any more, and all that ran on it still answers",),
        rollback=f"Switch {box} on again.",
        cautions=cautions.DATA,
    )


def _retire(change: Change, box: str) -> Task:
    return Task(
        id=task_id(Sort.RETIRE, box),
        sort=Sort.RETIRE,
        subject=box,
        hours=practice.RETIRE_HOURS,
        text=f"Take {box} out of the room and wipe its disks.",
        go_no_go=(f"the rollback deadline of all that ran on {box} has passed", "last backups are readable"),
        rollback=f"No way back: {box} is gone after this.",
        cautions=cautions.MACHINE_OUT if change.site.box[box].on_ups else ("lifting", "data-loss"),
    )


def _measure(change: Change, name: str) -> Task:
    measure = change.site.measure[name]
    where = "in the room" if measure.target == ROOM else f"on {measure.target}"
    return Task(
        id=task_id(Sort.MEASURE, name),
        sort=Sort.MEASURE,
        subject=name,
        hours=measure.hours or practice.MEASURE_HOURS,
        text=f"Apply {name} {where}.",
        go_no_go=("temperatures under load have been logged for a day",),
        done_when=("temperatures under load stay under the maker's limit; a log of a day has begun",),
        rollback=f"Undo {name} {where}.",
        cautions=cautions.of_measure(measure),
        price=measure.price,
    )


def _cooling_on(change: Change, name: str) -> Task:
    option = change.site.cooling_option[name]
    is_new = change.is_new_cooling(name)
    text = f"Bring in {name} and run it." if is_new else f"Run {name} in {_seasons(change, name)} too."
    return Task(
        id=task_id(Sort.COOLING_ON, name),
        sort=Sort.COOLING_ON,
        subject=name,
        hours=(option.hours or practice.COOLING_ON_HOURS) if is_new else practice.COOLING_OFF_HOURS,
        text=text,
        done_when=(f"{name} moves its air or heat as planned; a log of a day has begun",),
        rollback=f"Switch {name} off again.",
        cautions=cautions.of_cooling(option),
        price=option.price if is_new and not option.owned else 0.0,
    )


def _seasons(change: Change, option: str) -> str:
    none: frozenset[str] = frozenset()
    names = [
        item.name for item in change.site.seasons if option in change.target.cooling.get(item.name, none)
    ]
    return " and ".join(names)


def _cooling_off(change: Change, name: str) -> Task:
    still = _seasons(change, name)
    return Task(
        id=task_id(Sort.COOLING_OFF, name),
        sort=Sort.COOLING_OFF,
        subject=name,
        hours=practice.COOLING_OFF_HOURS,
        text=f"Switch {name} off" + (f" but for {still}." if still else "."),
        go_no_go=("a temperature alarm is tested",),
        done_when=("the room holds its temperature without it for an hour; a log of a day has begun",),
        rollback=f"Switch {name} on again.",
        cautions=cautions.COOLING_STOP,
    )
