"""Whether an edit only takes away: what a site still allows, it allowed before, and no better than then.

Only edits known to take away count; whatever else differs, the answer is no. So a new field of the site
can make this miss a chance, never tell an untruth.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Mapping, Sequence
from itertools import combinations
from typing import Any

from planner.domain.resources import RESOURCES, Demand
from planner.domain.rules import Policy
from planner.domain.site import Site

Check = Callable[[Any, Any], bool]
"""Whether the second value of a field allows no more than the first."""


def _more(old: float, new: float) -> bool:
    return new >= old


def _less(old: float, new: float) -> bool:
    return new <= old


def _at_most(old: float | None, new: float | None) -> bool:
    """Compare limits of which none means no limit."""
    return (math.inf if new is None else new) <= (math.inf if old is None else old)


def _lower_target(old: float | None, new: float | None) -> bool:
    return old is not None and new is not None and new <= old


def _asked(old: object, new: object) -> bool:
    """A thing that was not asked for may be; what was asked for stays."""
    return old is None or (isinstance(old, str) and isinstance(new, str))


def _pinned(old: object, new: object) -> bool:
    return old is None or old == new


def _superset(old: frozenset[str], new: frozenset[str]) -> bool:
    return old <= new


def _shut(old: bool, new: bool) -> bool:
    return old or not new


def _anything(old: object, new: object) -> bool:
    del old, new
    return True


def _shares(old: Mapping[str, float], new: Mapping[str, float]) -> bool:
    return all(new.get(name, 0.0) >= share for name, share in old.items())


def _demand(old: Demand, new: Demand) -> bool:
    """More of anything but CPU, of which more changes watts and sound as well."""
    taking = [name for name in RESOURCES if name != "cpu"]
    return _only(old, new, dict.fromkeys(taking, _each_more))


def _each_more(old: Sequence[float], new: Sequence[float]) -> bool:
    return len(old) == len(new) and all(a <= b for a, b in zip(old, new, strict=True))


SERVICE: Mapping[str, Check] = {
    "physical": _asked,
    "stay_on": _pinned,
    "needs": _superset,
    "demand": _demand,
}
PRICED: Mapping[str, Check] = {"price": _more, "hours": _more}
TIED: Mapping[str, Check] = {**PRICED, "requires": _superset, "excludes": _superset, "cautions": _anything}
KIND: Mapping[str, Check] = {**PRICED, "max_units": _less}
MEASURE: Mapping[str, Check] = {**TIED, "allowed": _shut}
BOX: Mapping[str, Check] = {"may_host": _shut, "stays": _asked, "reuse_price": _more, "reuse_hours": _more}
LISTENER: Mapping[str, Check] = {"target_dba": _lower_target, "use": _anything}
POLICY: Mapping[str, Check] = {
    "headroom": _shares,
    "vcpu_per_core": _less,
    "host_memory_gib": _more,
    "guest_memory_gib": _more,
    "budget": _at_most,
    "inlet_limit_c": _less,
    "spare_hosts": _more,
}


def _only(old: object, new: object, may: Mapping[str, Check]) -> bool:
    """Say whether two objects of a class differ only in fields that may, and there the right way."""
    assert dataclasses.is_dataclass(old)
    return all(
        before == after or (item.name in may and may[item.name](before, after))
        for item in dataclasses.fields(old)
        for before, after in [(getattr(old, item.name), getattr(new, item.name))]
    )


def _each(may: Mapping[str, Check]) -> Check:
    """Make the check of a list of named objects: the same ones, each differing only so."""

    def check(old: Sequence[Any], new: Sequence[Any]) -> bool:
        same = [item.name for item in old] == [item.name for item in new]
        return same and all(_only(a, b, may) for a, b in zip(old, new, strict=True))

    return check


def _policy(old: Policy, new: Policy) -> bool:
    return _only(old, new, POLICY)


SITE: Mapping[str, Check] = {
    "name": _anything,
    "windows": _anything,
    "policy": _policy,
    "listeners": _each(LISTENER),
    "services": _each(SERVICE),
    "boxes": _each(BOX),
    "kinds": _each(KIND),
    "measures": _each(MEASURE),
    "cooling": _each(TIED),
    "room": lambda old, new: _only(old, new, {"rack_u": _at_most}),
    "supply": lambda old, new: _only(old, new, {"circuits": _each({"continuous_w": _less})}),
    "together": _anything,
    "apart": _anything,
    "quorums": _anything,
}


def narrower(before: Site, after: Site) -> bool:
    """Say whether every plan of ``after`` was one of ``before``, and is no better in any aim but change."""
    return _only(before, after, SITE) and _rules(before, after)


def _rules(before: Site, after: Site) -> bool:
    """Say whether rules on several services still ask all they did."""
    bound = all(set(before.group[name]) <= set(after.group[name]) for name in before.group)
    quorums = all(
        any(rule.services == other.services and other.physical >= rule.physical for other in after.quorums)
        for rule in before.quorums
    )
    return bound and quorums and _pairs(before) <= _pairs(after)


def _pairs(site: Site) -> set[frozenset[str]]:
    return {frozenset(pair) for rule in site.apart for pair in combinations(sorted(rule.services), 2)}
