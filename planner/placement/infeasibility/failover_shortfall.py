"""When spare hosts are what leaves no plan: what a loss would lack, in the person's words."""

from __future__ import annotations

import threading
from collections.abc import Iterator, Mapping
from dataclasses import replace

from planner.domain.resources import RESOURCES
from planner.eligibility import figure
from planner.placement.formulation import Model
from planner.placement.formulation.failover_rows import ALL
from planner.placement.formulation.problem import Slot
from planner.placement.infeasibility.elastic import USED, Loose, loosen, relaxed
from planner.solver import Limits, run


def spare_reasons(model: Model, limits: Limits, cancel: threading.Event | None = None) -> tuple[str, ...]:
    """Give what a loss would lack where a plan would exist without spare hosts, else nothing."""
    rows = model.program.rows
    loose = [loosen(model, name) for name in rows if name.startswith("spare ") or "/restart:" in name]
    if not loose:
        return ()
    extra = {item.row: relaxed(rows[item.row], item.slack) for item in loose}
    price = model.program.total([(item.slack, 1.0 / item.size) for item in loose])
    answer = run(model.program, price, replace(limits, relative_gap=1e-3), extra=extra, cancel=cancel)
    if not answer.found:
        return ()
    found = tuple(dict.fromkeys(_sentences(model, loose, answer.values)))
    many = model.problem.site.policy.spare_hosts
    spare = "the spare host" if many == 1 else f"the {many} spare hosts"
    return (*found, f"without {spare} that the policy asks for there would be a plan")


def _sentences(model: Model, loose: list[Loose], values: Mapping[str, float]) -> Iterator[str]:
    """Give a sentence for each slack in use; of a zone's room only where the room of all does not say it."""
    used = {item.row: values[item.slack.name] for item in loose if values[item.slack.name] > USED * item.size}
    short = {row.partition("/")[0] for row in used if f"/{ALL}@" in row}
    for row, amount in used.items():
        if f"/{ALL}@" in row or row.partition("/")[0] not in short:
            yield _sentence(model, row, amount, values)


def _sentence(model: Model, row: str, amount: float, values: Mapping[str, float]) -> str:
    sort, _, rest = row.partition(":")
    if sort == "spare room":
        resource, _, scope = rest.partition("@")[0].partition("/")
        label, unit = RESOURCES[resource].label, RESOURCES[resource].unit
        who = "" if scope == ALL else f" in zone {scope}"
        lost = _with_others(model, _largest(model, resource, values))
        return (
            f"if {lost} lost, the hosts that are left would need {figure(amount)} {unit} more of {label} "
            f"for the services{who} that must restart"
        )
    if sort == "spare host":
        lost = _with_others(model, _host_of(model, rest, values))
        return f"if {lost} lost, no other host that is on may carry {_and(rest)}"
    if sort == "spare apart":
        name = rest.partition("/")[2]
        lost = _with_others(model, f"the host of {name}")
        return f"if {lost} lost, {name} would have to join one that it must be apart from"
    lost, _, name = rest.partition("/restart:")
    keys = [key.removesuffix("@host") for key in lost.split("+")]
    who = f"{' and '.join(keys)} {'is' if len(keys) == 1 else 'are'} lost"
    return f"if {who}, the hosts that are left have no room for {_and(name)}"


def _with_others(model: Model, host: str) -> str:
    """Give a host and how many more are lost with it, with the verb."""
    more = model.problem.site.policy.spare_hosts - 1
    others = "another host" if more == 1 else f"{more} more hosts"
    return f"{host} and {others} are" if more else f"{host} is"


def _and(names: str) -> str:
    return " and ".join(names.split("+"))


def _on(model: Model, values: Mapping[str, float]) -> list[Slot]:
    hosts = [slot for slot in model.problem.slots if slot.is_host]
    return [slot for slot in hosts if values[model.on[slot.key].name] > 0.5]


def _largest(model: Model, resource: str, values: Mapping[str, float]) -> str:
    largest = max(_on(model, values), key=lambda slot: model.problem.usable(slot, resource), default=None)
    return "a host" if largest is None else _called(largest)


def _host_of(model: Model, item_name: str, values: Mapping[str, float]) -> str:
    for slot in _on(model, values):
        for item, variable in model.placed(slot):
            if item_name in [*item.name.split("+"), item.name] and values[variable.name] > 0.5:
                return _called(slot)
    return "its host"


def _called(slot: Slot) -> str:
    return f"a {slot.name}" if slot.units > 1 else slot.name
