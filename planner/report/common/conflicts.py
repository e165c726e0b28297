"""Sentences for conflicts, each by its rule and where it shows: the only place that words them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import groupby

from planner import capacity
from planner.domain.conflict import Conflict, Place, Rule, Shown
from planner.domain.machines import Role
from planner.domain.plan import Outcome
from planner.domain.resources import RESOURCES
from planner.domain.site import Site
from planner.ledger import climate

TOGETHER = "the limits and rules together leave no plan"

Words = Callable[[Site, Conflict], str]


def reasons(
    site: Site, outcome: Outcome | None, conflicts: Sequence[Conflict], failure: str = ""
) -> tuple[str, ...]:
    """Word why a solve ended without a plan: its conflicts in their order, then what made it fail."""
    no_plan = outcome is Outcome.INFEASIBLE and not any(item.is_final for item in conflicts)
    words = [*([TOGETHER] if no_plan else []), *_sentences(site, conflicts), *([failure] if failure else [])]
    return tuple(dict.fromkeys(words))


def _sentences(site: Site, conflicts: Iterable[Conflict]) -> Iterator[str]:
    for service, found in groupby(conflicts, key=lambda item: item.fits_nowhere):
        words = dict.fromkeys(conflict_words(site, item) for item in found)
        if service:
            yield f"{service} fits nowhere: {'; '.join(words)}"
        else:
            yield from words


def conflict_words(site: Site, conflict: Conflict) -> str:
    """Word one conflict; KeyError for one that nothing makes."""
    return WORDS[conflict.shown, conflict.rule](site, conflict)


def figure(value: float) -> str:
    """Write a number with at most two decimals and no trailing zeros."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _and(names: Iterable[str]) -> str:
    return " and ".join(names)


def _there(conflict: Conflict) -> str:
    return figure(conflict.there or 0.0)


def _where(conflict: Conflict) -> str:
    return "it" if conflict.place is None else conflict.place.name


def _label(conflict: Conflict) -> str:
    return RESOURCES[conflict.resource].label


def _kept(site: Site, conflict: Conflict) -> str:
    """Say what a machine keeps back of a resource, '' when nothing."""
    role, resource = conflict.role or Role.BARE, conflict.resource
    share, own = capacity.kept_free(site, role, resource), capacity.own(site, role, resource)
    parts = [f"headroom of {figure(100.0 * share)} %"] if share else []
    if own:
        parts.append(f"its own {figure(own)} {conflict.unit}")
    return f" after {_and(parts)}" if parts else ""


def _capacity_of_one(site: Site, item: Conflict) -> str:
    return (
        f"{_label(item)} of {_where(item)}: {_and(item.subject)} would need {figure(item.needed)} "
        f"{item.unit}, {_there(item)} {item.unit} are there{_kept(site, item)}"
    )


def _capacity_nowhere(site: Site, item: Conflict) -> str:
    service, *together = item.subject
    who = f"{service} with {_and(together)}" if together else service
    return (
        f"{who} needs {figure(item.needed)} {item.unit} of {_label(item)}; the nearest, {_where(item)}, "
        f"has {_there(item)} {item.unit}{_kept(site, item)}"
    )


def _capacity_in_all(_: Site, item: Conflict) -> str:
    return (
        f"all services together take {figure(item.needed)} {item.unit} of {_label(item)}; every machine "
        f"there may be has {_there(item)} {item.unit} in all"
    )


def _capacity_repair(site: Site, item: Conflict) -> str:
    several = item.place is not None and item.place.is_any and item.place.entry in site.box
    where = f"boxes like {_where(item)}" if several else _where(item)
    return f"{where} would need {figure(item.amount)} {item.unit} more of {_label(item)}"


def _quorum_as_guests(_: Site, item: Conflict) -> str:
    return (
        f"{_and(item.subject)} as guests on {_where(item)} would leave {_there(item)} of "
        f"{figure(item.needed)} that must be physical: {item.because}"
    )


def _quorum_in_all(_: Site, item: Conflict) -> str:
    return (
        f"{figure(item.needed)} of {', '.join(item.subject)} must stay physical ({item.because}), but only "
        f"{_there(item)} of them fit a machine that is no host"
    )


def _zones_of_one(_: Site, item: Conflict) -> str:
    return f"{_and(item.others)} are {len(item.others)} zones; {_where(item)} carries {_there(item)}"


def _measures(_: Site, item: Conflict) -> str:
    return (
        f"{figure(item.needed)} measures on {_where(item)}: at most {_there(item)} can be weighed against "
        "each other; set 'allowed: no' on the least likely ones"
    )


def _heat_repair(site: Site, item: Conflict) -> str:
    limit = figure(site.policy.inlet_limit_c)
    return (
        f"in {_where(item)}, {figure(item.amount)} W more would have to be taken out of the room to stay at "
        f"{limit} °C; {_else_warm(site, _where(item), item.amount)}"
    )


def _else_warm(site: Site, season_name: str, too_much_w: float) -> str:
    """Say how warm the room gets with so many watts too much, where only walls and gaps take them."""
    season = next(item for item in site.seasons if item.name == season_name)
    limit_c = site.policy.inlet_limit_c
    capacity_w = [climate.room_capacity_w(site, season, (), at_c) for at_c in (limit_c, limit_c + 1.0)]
    per_kelvin = capacity_w[1] - capacity_w[0]
    if per_kelvin <= 0.0:
        return "without that it has no path for its heat and gets warmer without end"
    return f"without that it would reach {figure(round(limit_c + too_much_w / per_kelvin, 1))} °C"


def _lost(site: Site, item: Conflict, unknown: str = "its host") -> str:
    """Say which hosts are lost, with the verb."""
    names = [_any_of(site, place) for place in item.lost] or [unknown]
    if item.more_lost:
        names.append("another host" if item.more_lost == 1 else f"{item.more_lost} more hosts")
    return f"{_and(names)} {'is' if len(names) == 1 else 'are'}"


def _any_of(site: Site, place: Place) -> str:
    if not place.is_any:
        return place.name
    return f"a box like {place.name}" if place.entry in site.box else f"a {place.name}"


def _capacity_after_loss(site: Site, item: Conflict) -> str:
    who = f" in zone {item.subject[0]}" if item.subject else ""
    return (
        f"if {_lost(site, item, 'a host')} lost, the hosts that are left would need {figure(item.amount)} "
        f"{item.unit} more of {_label(item)} for the services{who} that must restart"
    )


def _apart_after_loss(site: Site, item: Conflict) -> str:
    lost = _lost(site, item, f"the host of {item.subject[0]}")
    return f"if {lost} lost, {item.subject[0]} would have to join one that it must be apart from"


def _spare_hosts(_: Site, item: Conflict) -> str:
    spare = "the spare host" if item.needed == 1 else f"the {figure(item.needed)} spare hosts"
    return f"without {spare} that the policy asks for there would be a plan"


def _named(item: Conflict) -> str:
    return _and(f"'{id_}'" for id_ in item.subject)


def _window(site: Site, item: Conflict) -> str:
    takes = "takes" if len(item.subject) == 1 else "in one go take"
    people = f" for {site.windows.crew} people" if site.windows.crew > 1 else ""
    other = ", or replicate its data beforehand ('method: replicate')" if item.others else ""
    return (
        f"{_named(item)} {takes} {item.work_h:.1f} h with the way back, the longest window has "
        f"{item.there or 0.0:.1f} h{people}: give it a window of {item.needed:.1f} h{other}."
    )


def _windows(_: Site, item: Conflict) -> str:
    return (
        f"the work takes {item.needed:.1f} h and the {item.wave} windows looked at have "
        f"{item.there or 0.0:.1f} h, with the order of the tasks and the days of rollback in between: "
        "give more or longer windows."
    )


def _money_of_a_month(_: Site, item: Conflict) -> str:
    what = f"'{item.subject[0]}'" + (" with what is done in one wave with it" if item.subject[1:] else "")
    price, there = (f"{value:,.0f} {item.unit}" for value in (item.needed, item.there or 0.0))
    return f"{what} costs {price}, a month has {there}: have {price} in one month, or pay for it in parts."


def _capacity_on_the_way(_: Site, item: Conflict) -> str:
    lack = f"{item.amount:.1f} {RESOURCES[item.resource].amount}"
    return (
        f"{_at_wave(item)} {_where(item)} lacks {lack}: borrow a machine with at least {lack} to step on, or "
        "announce an outage and stop what leaves before what comes."
    )


def _at_wave(item: Conflict) -> str:
    return f"in wave {item.wave} at the latest"


WORDS: dict[tuple[Shown, Rule], Words] = {
    (Shown.ON_MACHINE, Rule.CAPACITY): _capacity_of_one,
    (Shown.ON_MACHINE, Rule.RESIDENTS): lambda _, item: (
        f"{_where(item)}, left as it is, takes no other service: {item.subject[0]} runs elsewhere today"
    ),
    (Shown.ON_MACHINE, Rule.ALONE): lambda _, item: (
        f"{_where(item)} carries one service, not {_and(item.subject)}"
    ),
    (Shown.ON_MACHINE, Rule.PHYSICAL): lambda _, item: (
        f"{item.subject[0]} must not be a guest on {_where(item)}: {item.because}"
    ),
    (Shown.ON_MACHINE, Rule.STAY_ON): lambda _, item: (
        f"{item.subject[0]} stays on {item.others[0]}, not on {_where(item)}"
    ),
    (Shown.ON_MACHINE, Rule.NEEDS): lambda _, item: (
        f"{item.subject[0]} needs {', '.join(item.others)}, which {_where(item)} does not offer"
    ),
    (Shown.ON_MACHINE, Rule.ZONES): _zones_of_one,
    (Shown.ON_MACHINE, Rule.APART): lambda _, item: (
        f"{_and(item.subject)} must not share {_where(item)}: {item.because}"
    ),
    (Shown.ON_MACHINE, Rule.QUORUM): _quorum_as_guests,
    (Shown.ON_MACHINE, Rule.UNITS): lambda _, item: f"no unit of {_where(item)} may be bought",
    (Shown.ON_MACHINE, Rule.BUDGET): lambda _, item: (
        f"{_where(item)} costs {figure(item.needed)} {item.unit}, the budget is {_there(item)}"
    ),
    (Shown.ON_MACHINE, Rule.RACK): lambda _, item: (
        f"{_where(item)} takes {figure(item.needed)} rack units, the room has {_there(item)}"
    ),
    (Shown.ON_MACHINE, Rule.MACHINE): lambda _, __: "there is no machine at all",
    (Shown.NOWHERE, Rule.CAPACITY): _capacity_nowhere,
    (Shown.IN_ALL, Rule.CAPACITY): _capacity_in_all,
    (Shown.IN_ALL, Rule.QUORUM): _quorum_in_all,
    (Shown.IN_ALL, Rule.MEASURES): _measures,
    (Shown.REPAIR, Rule.BUDGET): lambda _, item: (
        f"the budget of {_there(item)} {item.unit} would have to be {figure(item.amount)} more"
    ),
    (Shown.REPAIR, Rule.RACK): lambda _, item: (
        f"the rack of {_there(item)} units would have to be {figure(item.amount)} units higher"
    ),
    (Shown.REPAIR, Rule.CIRCUIT): lambda _, item: (
        f"circuit {_where(item)} carries {_there(item)} W for hours; "
        f"{figure(item.amount)} W more would be needed"
    ),
    (Shown.REPAIR, Rule.HEAT): _heat_repair,
    (Shown.REPAIR, Rule.APART): lambda _, item: (
        f"{_and(item.subject)} would have to share {_where(item)}, against the rule that keeps them apart"
    ),
    (Shown.REPAIR, Rule.QUORUM): lambda _, item: (
        f"{figure(item.amount)} fewer of {', '.join(item.subject)} would have to stay physical"
    ),
    (Shown.REPAIR, Rule.ZONES): lambda _, item: (
        f"{_where(item)} would have to carry {figure(item.amount)} zones more"
    ),
    (Shown.REPAIR, Rule.EXCLUDES): lambda _, item: f"{_and(item.subject)} would have to go together",
    (Shown.REPAIR, Rule.CAPACITY): _capacity_repair,
    (Shown.REPAIR, Rule.ALONE): lambda _, item: (
        f"{figure(item.amount)} more of {_where(item)} would be needed: each carries one service or group"
    ),
    (Shown.AFTER_LOSS, Rule.CAPACITY): _capacity_after_loss,
    (Shown.AFTER_LOSS, Rule.OTHER_HOST): lambda site, item: (
        f"if {_lost(site, item)} lost, no other host that is on may carry {_and(item.subject)}"
    ),
    (Shown.AFTER_LOSS, Rule.RESTART): lambda site, item: (
        f"if {_lost(site, item)} lost, the hosts that are left have no room for {_and(item.subject)}"
    ),
    (Shown.AFTER_LOSS, Rule.APART): _apart_after_loss,
    (Shown.AFTER_LOSS, Rule.SPARE_HOSTS): _spare_hosts,
    (Shown.ON_THE_WAY, Rule.RACK): lambda _, item: (
        f"{_at_wave(item)} the rack lacks {item.amount:.0f} units: stand a machine outside it, or retire one "
        "before."
    ),
    (Shown.ON_THE_WAY, Rule.CIRCUIT): lambda _, item: (
        f"{_at_wave(item)} {_where(item)} lacks {item.amount:.0f} W: have a temporary circuit for "
        f"{item.amount:.0f} W, or plug over."
    ),
    (Shown.ON_THE_WAY, Rule.START): lambda _, item: (
        f"{_at_wave(item)} {_where(item)} lacks {item.amount:.0f} W while {item.subject[0]} starts: start it "
        f"from another circuit, or switch off {item.amount:.0f} W there first."
    ),
    (Shown.ON_THE_WAY, Rule.HEAT): lambda _, item: (
        f"{_at_wave(item)} {item.amount:.0f} W of heat stay in the room in {_where(item)}: borrow a cooler "
        f"of {item.amount:.0f} W."
    ),
    (Shown.ON_THE_WAY, Rule.CAPACITY): _capacity_on_the_way,
    (Shown.ON_THE_WAY, Rule.WINDOW): _window,
    (Shown.ON_THE_WAY, Rule.WINDOWS): _windows,
    (Shown.ON_THE_WAY, Rule.MONTHLY_BUDGET): _money_of_a_month,
}
