"""Cautions: one for every hazard known, and those that a plan brings are the ones shown."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from planner.domain.hazards import ALIASES, TEXTS, hazard_of
from planner.domain.measures import ROOM, Measure, RoomEffect, SourceEffect
from planner.domain.site import Site
from planner.domain.state import State, state_today
from planner.ledger import today_ledger
from planner.report.common.cautions import OWN_WORDS, cautions_for
from tests.kit.sites import plain_site
from tests.report.examples import plain_plan

MUST_SAY: Mapping[str, tuple[str, ...]] = {
    "psu-internals": ("Never open", "whole unit"),
    "mains-ups": ("Unplug", "live with the mains off", "licensed electrician", "acid"),
    "circuit-overload": ("80 %", "local", "one after another"),
    "poe": ("48 to 57 V", "90 W", "damaged", "budget"),
    "fan-swap": ("24 h", "under load", "before and after", "warranty", "limit", "cold start"),
    "disk-heat": ("25", "45 °C"),
    "lifting": ("Two people", "18 to 23 kg", "lowest", "one device", "anti-tip"),
    "fire-rated": ("Never cut, undercut or drill", "louvre", "authority", "listed firestop"),
    "plenum": ("plenum-rated", "never a server"),
    "absorber-fire": ("polyurethane", "mineral or glass fibre"),
    "egress": ("without a key", "extinguishers"),
    "hvac": ("licensed", "carbon monoxide", "boiler"),
    "sealed-room": ("heat balance", "alarm", "shutdown", "BEFORE"),
    "condensate": ("tank", "15 °C"),
    "hearing": ("80 dBA", "85 dBA", "protectors", "Local rules"),
    "privacy": ("speech",),
    "data-loss": ("Restore a backup", "before each cutover", "rollback window", "directory server"),
    "loud-discharge": ("110 dB", "stall"),
    "asbestos": ("asbestos or lead", "before drilling"),
}
"""What each caution has to say; from the list of hazards of the trade that the project keeps."""


def test_every_hazard_has_its_sentence() -> None:
    """No hazard is missing, and each sentence says what it must."""
    assert set(TEXTS) == set(MUST_SAY)
    for hazard, phrases in MUST_SAY.items():
        assert [phrase for phrase in phrases if phrase not in TEXTS[hazard]] == []


def test_aliases_lead_to_known_hazards() -> None:
    """Other words for a hazard mean one that is known."""
    assert set(ALIASES.values()) <= set(TEXTS)
    assert hazard_of("Fire rated door") == "fire-rated"
    assert hazard_of("PSU_internals") == "psu-internals"
    assert hazard_of("Mind the cat") is None


def shown(site: Site, state: State) -> dict[str, tuple[str, ...]]:
    """Collect the hazards shown for a state, with what brings each."""
    before = today_ledger(site).levels_dba
    return {entry.hazard: entry.because for entry in cautions_for(site, state, before, before, {})}


def with_measure(measure: Measure) -> dict[str, tuple[str, ...]]:
    """Collect the hazards of today's state with one measure taken."""
    site = plain_site()
    state = replace(state_today(site), measures=frozenset({measure.name}))
    return shown(replace(site, measures=(measure,)), state)


def test_doing_nothing_brings_no_work() -> None:
    """Today's state asks for no lifting, no restore and no licensed trade."""
    found = shown(plain_site(), state_today(plain_site()))
    assert not {"lifting", "data-loss", "hvac", "fan-swap", "sealed-room"} & set(found)


def test_hand_made_plan() -> None:
    """Moves ask for restores, machines for lifting, a new air path for licensed trades, a stopped cooler
    for an alarm first."""
    found = shown(plain_plan()[0], plain_plan()[1].state)
    assert found["data-loss"] == ("records-db", "mail")
    assert set(found["lifting"]) == {"quiet-host", "alder"}
    assert "door-fan" in found["hvac"]
    assert found["sealed-room"] == ("split-unit",)
    assert found["poe"] == ("phone-switch",)


@pytest.mark.parametrize(
    ("measure", "hazards"),
    [
        (Measure("m", "alder", SourceEffect((6.0,) * 8)), {"fan-swap", "psu-internals", "mains-ups"}),
        (Measure("m", "core-switch", SourceEffect(removes=True)), {"mains-ups"}),
        (Measure("m", "core-switch", SourceEffect(elsewhere=True)), {"mains-ups"}),
        (Measure("m", ROOM, room_effect=RoomEffect(leak_delta_m3_s=-0.02)), {"sealed-room", "egress"}),
        (Measure("m", ROOM, room_effect=RoomEffect(elements={"door": (35.0,) * 8})), {"fire-rated"}),
        (Measure("m", ROOM, room_effect=RoomEffect(ua_delta_w_k=1.0), cautions=("plenum",)), {"plenum"}),
    ],
)
def test_measures_bring_their_hazards(measure: Measure, hazards: set[str]) -> None:
    """By what they do, whether or not the inventory says so."""
    assert hazards <= set(with_measure(measure))


def test_own_words_of_an_inventory_are_kept() -> None:
    """A caution that is no hazard of the list is shown as it stands."""
    site = plain_site()
    measure = Measure("m", "alder", SourceEffect((6.0,) * 8), cautions=("Mind the cat",))
    state = replace(state_today(site), measures=frozenset({"m"}))
    levels = today_ledger(site).levels_dba
    found = cautions_for(replace(site, measures=(measure,)), state, levels, levels, {})
    assert [(entry.text, entry.because) for entry in found if entry.hazard == OWN_WORDS] == [
        ("Mind the cat", ("m",))
    ]


def test_levels_bring_hearing_and_privacy() -> None:
    """80 dBA in the room asks for protectors; 5 dB less behind a partition asks to mind speech next door."""
    site, state = plain_site(), state_today(plain_site())
    before = {"desk": 81.0, "reception": 40.0}
    found = cautions_for(site, state, before, {"desk": 60.0, "reception": 35.0}, {"desk": 81.0})
    assert {"hearing", "privacy"} <= {entry.hazard for entry in found}
    mild = cautions_for(site, state, before, {"desk": 60.0, "reception": 35.5}, {"desk": 79.0})
    assert not {"hearing", "privacy"} & {entry.hazard for entry in mild}
