"""The example inventories, and the schema for editors."""

from __future__ import annotations

import json
import statistics
from typing import Any

import jsonschema
import pytest
from ruamel.yaml import YAML

from planner.domain.machines import Role
from planner.inventory import load, schema
from planner.inventory.text.yaml_tree import parse
from planner.ledger import climate, today_ledger
from tests.inventory.base import EXAMPLES

GOOD = ("small-office", "mid-size", "cannot-be-planned", "two-hosts")


def data_of(name: str) -> Any:
    """Look up an example's plain data."""
    return parse((EXAMPLES / f"{name}.yaml").read_text(encoding="utf-8"), name).data


@pytest.mark.parametrize("name", GOOD)
def test_an_example_loads(name: str) -> None:
    """Each makes a site and says at its head what it shows."""
    text = (EXAMPLES / f"{name}.yaml").read_text(encoding="utf-8")
    assert text.startswith("# ")
    assert "Shows" in text[:400]
    assert load(EXAMPLES / f"{name}.yaml").site.services


@pytest.mark.parametrize("name", GOOD)
def test_the_schema_takes_the_examples(name: str) -> None:
    """What loads is also right for an editor."""
    jsonschema.Draft202012Validator(schema()).validate(data_of(name))


@pytest.mark.parametrize("name", GOOD)
def test_the_schema_takes_the_examples_as_yaml_1_2_reads_them(name: str) -> None:
    """Editors read YAML 1.2, where `yes` and `no` are words and not booleans."""
    text = (EXAMPLES / f"{name}.yaml").read_text(encoding="utf-8")
    read = YAML(typ="safe", pure=True).load(text)
    # The core schema of YAML 1.2 has no dates, which this reader adds.
    jsonschema.Draft202012Validator(schema()).validate(json.loads(json.dumps(read, default=str)))


def test_yes_and_no_are_words_to_an_editor() -> None:
    """A box `ups: yes` loads, and both readings of it fit the schema; `maybe` fits neither."""
    checker = jsonschema.Draft202012Validator(schema())
    for said in (True, "yes", "no"):
        data = data_of("small-office")
        next(iter(data["gear"].values()))["ups"] = said
        assert checker.is_valid(data), said
    next(iter(data["gear"].values()))["ups"] = "maybe"
    assert not checker.is_valid(data)


def test_the_schema_refuses_unknown_keys_and_is_itself_right() -> None:
    """Editors underline what loading would refuse."""
    described = schema()
    jsonschema.Draft202012Validator.check_schema(described)
    checker = jsonschema.Draft202012Validator(described)
    assert not checker.is_valid({**data_of("small-office"), "servers": {}})
    assert not checker.is_valid(data_of("full-of-mistakes"))


def test_every_key_in_the_schema_is_described() -> None:
    """Editors show a sentence for each key."""
    described = schema()
    for model in (described, *described["$defs"].values()):
        assert model["title"]
        assert model["description"]
        for name, field in model.get("properties", {}).items():
            assert field.get("description") or "$ref" in field, (model["title"], name)


def test_the_mid_size_example_is_of_the_size_it_says() -> None:
    """Fourteen boxes, forty services, ten pieces of gear, two circuits; measures in the usual price range."""
    site = load(EXAMPLES / "mid-size.yaml").site
    assert [len(part) for part in (site.boxes, site.services, site.gear, site.supply.circuits)] == [
        14,
        40,
        10,
        2,
    ]
    prices = [measure.price for measure in site.measures]
    assert len(prices) >= 12
    assert statistics.median(prices) < 50
    assert sum(price > 1000 for price in prices) <= 1


def test_the_mid_size_example_ties_heat_sound_and_money_together() -> None:
    """Heat is twice what the air carries, the air conditioner leads, the quietest host is the hottest."""
    site = load(EXAMPLES / "mid-size.yaml").site
    today, limit_c = today_ledger(site), site.policy.inlet_limit_c
    air, summer = site.cooling_option["building-air"], site.seasons[0]
    carried_w = climate.option_capacity_w(site, summer, air, limit_c)
    carried_w += climate.room_capacity_w(site, summer, (), limit_c)
    assert 1100 < carried_w < 1400
    assert 2 * carried_w < today.season("summer").heat_w < 3200
    assert today.leading["mixing-desk"] == "portable-ac"
    hosts = sorted(
        (kind for kind in site.kinds if kind.role is Role.HOST), key=lambda kind: kind.spec.sound.idle_db
    )
    assert hosts[0].spec.idle_w == max(kind.spec.idle_w for kind in hosts)
    dearest = max(hosts, key=lambda kind: kind.price)
    assert 0 < (site.policy.budget or 0) - 2 * dearest.price < air.price
