"""JSON data of documents: written as it is meant, read with places, and what is gone left out once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

import pytest
from pydantic import AfterValidator, StrictFloat

from planner.domain.rules import Aim
from planner.report.common.json_data import (
    BoxName,
    PlanFileError,
    ServiceName,
    check_head,
    data_of,
    read_as,
    read_known,
)
from planner.report.schemas import NAMES, schema_of
from tests.kit.sites import plain_site


def _even(value: int) -> int:
    if value % 2:
        raise ValueError("expected an even number")
    return value


@dataclass(frozen=True)
class Machine:
    """What stands on a box."""

    box: BoxName
    services: tuple[ServiceName, ...] = ()


@dataclass(frozen=True)
class Content:
    """One value of each sort."""

    aim: Aim
    level: StrictFloat | None
    machines: tuple[Machine, ...] = ()
    by_box: dict[BoxName, tuple[ServiceName, ...]] | None = None
    pairs: Annotated[int, AfterValidator(_even)] = 0


GOOD: dict[str, Any] = {"aim": "sound", "level": 41}


def test_data_are_lists_and_dicts() -> None:
    """Classes become objects, tuples lists, at any depth; figures stay whole where they are."""
    content = Content(Aim.SOUND, 41, (Machine("alder", ("mail",)),), {"birch": ("files",)})
    assert data_of(content) == {
        "aim": "sound",
        "level": 41,
        "machines": [{"box": "alder", "services": ["mail"]}],
        "by_box": {"birch": ["files"]},
        "pairs": 0,
    }
    assert type(data_of(content)["level"]) is int


def test_what_was_written_is_read() -> None:
    """There and back."""
    content = Content(Aim.POWER, None, (Machine("alder", ("mail",)),), {"birch": ("files",)}, 4)
    assert read_as(Content, data_of(content), plain_site()) == content
    assert read_as(Content, {**GOOD, "of our own": []}, plain_site()) == Content(Aim.SOUND, 41.0)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"aim": "beauty"}, "aim: 'beauty' is none of 'sound', 'power', 'cost' or 'change'"),
        ({"aim": 3}, "aim: expected a text, found a number"),
        ({"level": "41"}, "level: expected a number, found a text"),
        ({"level": True}, "level: expected a number, found true or false"),
        ({"machines": {}}, "machines: expected a list, found an object"),
        ({"machines": [None]}, "machines[0]: expected an object, found null"),
        ({"machines": [{}]}, "machines[0].box: this is missing"),
        ({"aim": "\ud800"}, "aim: expected a text of whole characters, found a text"),
        (
            {"machines": [{"box": "aldr"}]},
            "machines[0].box: the inventory has no box called 'aldr'; did you mean 'alder'?",
        ),
        ({"by_box": {"{x}": []}}, "by_box.{x}: the inventory has no box called '{x}'"),
        ({"by_box": []}, "by_box: expected an object, found a list"),
        ({"pairs": 3}, "pairs: expected an even number"),
    ],
)
def test_a_mistake_is_told_with_its_place(change: dict[str, Any], told: str) -> None:
    """Path, what is wrong, and what would do, whatever the kind of mistake."""
    with pytest.raises(PlanFileError) as caught:
        read_as(Content, {**GOOD, **change}, plain_site())
    assert str(caught.value) == told


def test_what_is_gone_is_left_out_and_told_once() -> None:
    """A name in a list goes alone, a key with what is under it, an object with all its names."""
    data = {
        **GOOD,
        "machines": [
            {"box": "alder", "services": ["mail", "gone", "files"]},
            {"box": "lost", "services": ["lost-too", "mail"]},
        ],
        "by_box": {"birch": ["files"], "oak": ["elm"]},
    }
    content, dropped = read_known(Content, data, plain_site())
    assert content.machines == (Machine("alder", ("mail", "files")),)
    assert content.by_box == {"birch": ("files",)}
    assert [item.where for item in dropped] == ["machines[0].services[1]", "machines[1].box", "by_box.oak"]
    assert data["machines"][0]["services"] == ["mail", "gone", "files"]


def test_a_mistake_beside_what_is_gone_is_still_one() -> None:
    """Only names are left out."""
    with pytest.raises(PlanFileError, match=r"^aim: expected a text"):
        read_known(Content, {"aim": None, "level": 1.0, "machines": [{"box": "lost"}]}, plain_site())


@pytest.mark.parametrize(
    ("data", "told"),
    [
        ([], "expected an object, found a list"),
        ({"format": "a.b"}, "version: this is missing"),
        ({"format": "b.a", "version": 2}, "format: this is no a.b file of version 2; write it again"),
        ({"format": "a.b", "version": 1}, "version: only version 2 can be read; write it again"),
        ({"format": "a.b", "version": True}, "version: expected a whole number, found true or false"),
        ({"format": "a.b", "version": 2, "x": [{"y": float("nan")}]}, r"x\[0\].y: this is no finite number"),
        ({"format": "a.b", "version": 2, "x": 10**400}, "x: this is no finite number"),
    ],
)
def test_the_head_of_a_file(data: object, told: str) -> None:
    """Form and version are checked first, and that no number in it is none."""
    with pytest.raises(PlanFileError, match=f"^{told}"):
        check_head(data, "a.b", 2, "write it again")


@pytest.mark.parametrize("name", NAMES)
def test_schemas_ask_for_every_field_and_allow_no_other(name: str) -> None:
    """At every depth: what is written always has all its fields, whatever they are by default."""
    schema = schema_of(name)
    objects = [form for form in (schema, *schema.get("$defs", {}).values()) if "properties" in form]
    assert len(objects) > 2
    for form in objects:
        assert form["required"] == list(form["properties"])
        assert form["additionalProperties"] is False
        assert form["description"]
