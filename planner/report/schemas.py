"""JSON Schemas (2020-12) of what the commands write with ``--json``, made from the pages' own classes."""

from __future__ import annotations

import dataclasses
import inspect
import types
import typing
from collections.abc import Mapping
from enum import StrEnum
from typing import Any

from planner.domain.conflict import Conflict
from planner.domain.machines import Role
from planner.domain.plan import AimResult, Outcome, Restart
from planner.inventory.loaded import Default
from planner.inventory.text.errors import Problem
from planner.report.check import page as check_page
from planner.report.common.entries import AssumedEntry
from planner.report.moves import page as moves_page
from planner.report.plan import json_file
from planner.report.plan.alternatives import AlternativesPage
from planner.report.plan.page import PlanPage
from planner.report.plan.peaks import PeaksEntry
from planner.report.quiet import page as ladder_page
from planner.report.tradeoff import page as tradeoff_page
from planner.report.verify import page as verify_page
from planner.report.why import page as why_page

DIALECT = "https://json-schema.org/draft/2020-12/schema"
NAMES = ("check", "plan", "moves", "quiet", "tradeoff", "verify", "why")
TEXT: Mapping[str, Any] = {"type": "string"}
TEXTS: Mapping[str, Any] = {"type": "array", "items": TEXT}
FLAG: Mapping[str, Any] = {"type": "boolean"}
BASE: Mapping[Any, str] = {
    str: "string",
    float: "number",
    int: "integer",
    bool: "boolean",
    type(None): "null",
}


def schema_of(name: str) -> dict[str, Any]:
    """Give the schema of a command's output; KeyError when there is none of that name."""
    makers = {
        "check": _check,
        "plan": _plan,
        "moves": _moves,
        "quiet": _quiet,
        "tradeoff": _tradeoff,
        "verify": _verify,
        "why": _why,
    }
    return makers[name]()


def of_type(kind: Any) -> dict[str, Any]:
    """Give the schema of a type: a dataclass, a text enum, a tuple, a choice of types, or a plain one.

    A tuple of any length is a list of one type, one of fixed length has a type a place.
    """
    if kind in BASE:
        return {"type": BASE[kind]}
    if isinstance(kind, type) and issubclass(kind, StrEnum):
        return {"enum": [str(item) for item in kind]}
    if dataclasses.is_dataclass(kind):
        return of_class(kind)
    parts = typing.get_args(kind)
    if typing.get_origin(kind) in (types.UnionType, typing.Union):
        return _union([of_type(part) for part in parts])
    if typing.get_origin(kind) is tuple:
        return _tuple(parts)
    raise TypeError(kind)


def _union(parts: list[dict[str, Any]]) -> dict[str, Any]:
    if all(set(part) == {"type"} for part in parts):
        return {"type": [part["type"] for part in parts]}
    return {"anyOf": parts}


def _tuple(parts: tuple[Any, ...]) -> dict[str, Any]:
    if len(parts) == 2 and parts[1] is Ellipsis:
        return {"type": "array", "items": of_type(parts[0])}
    places = [of_type(part) for part in parts]
    return {"type": "array", "prefixItems": places, "minItems": len(places), "items": False}


def of_class(kind: Any) -> dict[str, Any]:
    """Give the schema of a dataclass: every field there, and nothing else."""
    hints = typing.get_type_hints(kind)
    fields = {item.name: of_type(hints[item.name]) for item in dataclasses.fields(kind)}
    return _object(" ".join((inspect.getdoc(kind) or "").split()), fields)


def _object(description: str, fields: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "description": description,
        "properties": dict(fields),
        "required": list(fields),
        "additionalProperties": False,
    }


def _top(form: str, version: int, description: str, fields: Mapping[str, Any]) -> dict[str, Any]:
    head = {"format": {"const": form}, "version": {"const": version}}
    return {"$schema": DIALECT, "title": form, **_object(description, {**head, **fields})}


def _list(kind: Any) -> dict[str, Any]:
    return {"type": "array", "items": of_type(kind)}


def _check() -> dict[str, Any]:
    counts = {"type": "object", "additionalProperties": {"type": "integer", "minimum": 0}}
    fields = {
        "file": TEXT,
        "usable": FLAG,
        "site": {"type": ["string", "null"]},
        "counts": counts,
        "errors": _list(Problem),
        "warnings": _list(Problem),
        "defaults": _list(Default),
        "assumed": _list(AssumedEntry),
    }
    words = "What 'stillroom check --json' writes: what is wrong with a file, and what it leaves open."
    return _top(check_page.FORMAT, check_page.VERSION, words, fields)


def _difference() -> dict[str, Any]:
    words = "What the plan file's page should say otherwise; differences are null without --recompute."
    value = {"type": ["string", "number", "boolean", "null"]}
    fields = {"where": TEXT, "of": TEXT, "stated": value, "recomputed": value, "message": TEXT}
    return _object(words, fields)


def _plan() -> dict[str, Any]:
    fields = {
        "site": TEXT,
        "outcome": of_type(Outcome),
        "stopped_by": TEXT,
        "reasons": {**TEXTS, "description": "Why no plan can exist; empty where there is one."},
        "conflicts": _list(Conflict),
        "confirmed_by": {**TEXT, "description": "What shows that none can, beside one run of a solver."},
        "contradictions": {**TEXTS, "description": "Where runs of solvers said what cannot both be."},
        "aims": {"type": "array", "items": _aim()},
        "state": {"anyOf": [_state(), {"type": "null"}]},
        "previous": {"anyOf": [_state(), {"type": "null"}]},
        "restarts": _list(Restart),
        "peaks": {"anyOf": [of_class(PeaksEntry), {"type": "null"}]},
        "alternatives": {"anyOf": [of_class(AlternativesPage), {"type": "null"}]},
        "page": {"anyOf": [of_class(PlanPage), {"type": "null"}]},
    }
    words = (
        "What 'stillroom plan --json' writes and '-o' saves. 'outcome', 'aims', 'state' and 'restarts' are "
        "read again by 'verify' and 'moves'; 'page' is what the plan means, and is only for reading."
    )
    return _top(json_file.FORMAT, json_file.VERSION, words, fields)


def _aim() -> dict[str, Any]:
    made = of_class(AimResult)
    made["properties"]["value"] = made["properties"]["bound"] = {"type": ["number", "null"]}
    return made


def _state() -> dict[str, Any]:
    machine = {
        "name": TEXT,
        "role": of_type(Role),
        "circuit": TEXT,
        "services": TEXTS,
        "box": {"type": ["string", "null"]},
        "kind": {"type": ["string", "null"]},
    }
    words = "A machine that is on: a box of the site, or a unit of a kind."
    cooling = {"type": "object", "additionalProperties": TEXTS, "description": "What runs, by season."}
    fields = {
        "machines": {"type": "array", "items": _object(words, machine)},
        "measures": TEXTS,
        "cooling": cooling,
    }
    return _object("The state that the plan reaches.", fields)


def _moves() -> dict[str, Any]:
    fields = {"page": of_class(moves_page.MovesPage)}
    words = "What 'stillroom moves --json' writes: the waves, and what they break on the way."
    return _top(moves_page.FORMAT, moves_page.VERSION, words, fields)


def _quiet() -> dict[str, Any]:
    fields = {"page": of_class(ladder_page.QuietPage)}
    words = "What 'stillroom quiet --json' writes: the loudest-first ladder and the proven cheapest set."
    return _top(ladder_page.FORMAT, ladder_page.VERSION, words, fields)


def _tradeoff() -> dict[str, Any]:
    fields = {"page": of_class(tradeoff_page.TradeoffPage)}
    words = "What 'stillroom tradeoff --json' writes: the front of sound, power and money."
    return _top(tradeoff_page.FORMAT, tradeoff_page.VERSION, words, fields)


def _why() -> dict[str, Any]:
    fields = {"page": of_class(why_page.WhyPage)}
    words = "What 'stillroom why --json' writes: a service, and what each machine would change."
    return _top(why_page.FORMAT, why_page.VERSION, words, fields)


def _verify() -> dict[str, Any]:
    words = "A rule or limit that the plan or the order breaks."
    breach = _object(words, {"rule": TEXT, "where": TEXT, "message": TEXT})
    fields = {
        "inventory": TEXT,
        "plan": TEXT,
        "order": {"type": ["string", "null"]},
        "holds": FLAG,
        "breaches": {"type": "array", "items": breach},
        "differences": {"anyOf": [{"type": "array", "items": _difference()}, {"type": "null"}]},
        "not_recomputed": {**TEXTS, "description": "Parts of the file that only a solve could give again."},
    }
    words = (
        "What 'stillroom verify --json' writes: whether a plan, or each step of an order of its moves, keeps "
        "every rule and limit of an inventory."
    )
    return _top(verify_page.FORMAT, verify_page.VERSION, words, fields)
