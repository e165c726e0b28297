"""Each edit a person can make: what changes in the text, and how it is named."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.inventory import load_text
from planner.inventory.editing import Document
from planner.inventory.text.errors import Path as Place
from tests.tui.screens import SMALL
from tests.tui.test_documents import changed_lines
from tui import edits
from tui.forms.fields import written
from tui.forms.make import form_fields
from tui.session import RefusedError

TEXT = SMALL.read_text(encoding="utf-8")
START = Document.of(TEXT, SMALL.name)


def site_of(edit: edits.Edit) -> Site:
    """Read what an edit makes of the file."""
    return load_text(edit.document.text, Path("x.yaml")).site


def typed(entry: Place, field: Place, text: str) -> edits.Edit:
    """Make the edit that typing something into a field of a form makes."""
    found = next(item for item, _ in form_fields(START, [entry]) if item.path == field)
    return edits.change(START, [entry], {field: written(found, text)})


CASES = (
    (("services", "map-tiles"), ("memory",), "8 GiB", "map-tiles: memory 8 GiB"),
    (("services", "map-tiles"), ("cpu",), "1.2", "map-tiles: cpu 1.2"),
    (("services", "map-tiles"), ("stay_physical",), "its card: no guest", "map-tiles stays physical"),
    (("services", "nightly-backup"), ("stay_physical",), "no", "nightly-backup may be virtual"),
    (("services", "map-tiles"), ("stay_on",), "birch", "map-tiles: stay_on birch"),
    (("services", "map-tiles"), ("restart",), "optional", "map-tiles: restart optional"),
    (("services", "map-tiles"), ("downtime",), "30 min", "map-tiles: downtime 30 min"),
    (("services", "map-tiles"), ("depends_on",), "intranet, mail-relay", ""),
    (("services", "telephones"), ("needs",), "", "telephones: needs as by default"),
    (("boxes", "damson"), ("offers",), "usb-dongle, phone-card", ""),
    (("boxes", "alder"), ("power", "idle"), "120 W", "alder: power.idle 120 W"),
    (("boxes", "alder"), ("stays",), "the lease runs on", ""),
    (("boxes", "fir"), ("sound",), "50 dBA at 1 m", ""),
    (("gear", "desk-switch"), ("leaves_room",), "40 W", ""),
    (("catalogue", "quiet-host"), ("up_to",), "3", "quiet-host: up_to 3"),
    (("catalogue", "quiet-host"), ("price",), "1300", ""),
    (("policy",), ("budget",), "4000", "policy: budget 4000"),
    (("policy",), ("headroom", "cpu"), "25 %", "policy: headroom.cpu 25 %"),
    (("policy",), ("vcpu_per_core",), "3", ""),
    (("policy",), ("spare_hosts",), "1", ""),
    (("policy",), ("aims",), "power, sound", ""),
    (("listeners", "drawing-office"), ("target",), "34 dBA", ""),
    (("measures", "door-seal"), ("allowed",), "no", ""),
    (("cooling", "portable-ac"), ("setpoint",), "24 °C", ""),
)


@pytest.mark.slow
@pytest.mark.parametrize(("entry", "field", "text", "name"), CASES)
def test_a_field_is_one_changed_or_added_line(entry: Place, field: Place, text: str, name: str) -> None:
    """Each field of each section can be typed, reads back, and touches one line; the site loads."""
    edit = typed(entry, field, text)
    changed = changed_lines(TEXT, edit.document.text)
    assert sum(line.startswith("+") for line in changed) <= (2 if field[0] == "headroom" else 1)
    assert site_of(edit) != load_text(TEXT, "x.yaml").site
    if name:
        assert edit.name == name


def test_aims_are_an_order() -> None:
    """What is typed first comes first."""
    assert site_of(typed(("policy",), ("aims",), "power, sound")).policy.aims[:2] == (Aim.POWER, Aim.SOUND)


def test_services_are_grouped_with_a_reason() -> None:
    """Together, apart and quorum are a line each."""
    because: dict[Place, str | None] = {("because",): "they share a cable"}
    apart = edits.group(START, "apart", ["map-tiles", "intranet"], because)
    assert changed_lines(TEXT, apart.document.text) == [
        "+     - {services: [map-tiles, intranet], because: they share a cable}"
    ]
    assert apart.name == "2 services stay apart"
    together = edits.group(START, "together", ["map-tiles", "mail-relay"], because)
    assert any("mail-relay" in rule.services for rule in site_of(together).together)
    quorum = edits.group(START, "quorum", ["map-tiles", "intranet"], {**because, ("physical",): "1"})
    assert site_of(quorum).quorums[0].physical == 1


def test_a_rule_can_be_changed_and_removed() -> None:
    """Rules stand in lists; their place is a number."""
    rule: Place = ("rules", "apart", 0)
    changed = edits.change(START, [rule], {("because",): "so it is"})
    assert site_of(changed).apart[0].because == "so it is"
    removed = edits.remove(START, [rule])
    assert removed.name == "rule apart 1 removed"
    assert len(site_of(removed).apart) == 1


def test_an_entry_is_added_with_what_was_typed() -> None:
    """Parts of a field go into brackets of their own."""
    fields: dict[Place, str | None] = {
        ("role",): "host",
        ("cores",): "8",
        ("memory",): "32 GiB",
        ("disk",): "1 TB",
        ("power", "idle"): "30 W",
        ("power", "peak"): "90 W",
        ("price",): "900",
        ("score",): None,
    }
    site = site_of(edits.add(START, "catalogue", "small-host", fields))
    assert site.kind["small-host"].spec.peak_w == 90.0
    with pytest.raises(RefusedError, match="stands there already"):
        edits.add(START, "catalogue", "quiet-host", fields)


def test_an_entry_is_copied_and_removed() -> None:
    """Copying and removing again is nothing."""
    copied = edits.copy(START, ("services", "job-database"), "job-database-2")
    assert site_of(copied).service["job-database-2"].demand == site_of(copied).service["job-database"].demand
    again = edits.remove(copied.document, [("services", "job-database-2")])
    assert again.document.text == TEXT


def test_measures_are_forbidden_and_allowed_again() -> None:
    """Allowing takes the word away again, since it is the default."""
    forbidden = edits.allow(START, ["door-seal", "solid-door"], False)
    assert not site_of(forbidden).measure["solid-door"].allowed
    assert forbidden.name == "2 measures not allowed"
    assert edits.allow(forbidden.document, ["door-seal", "solid-door"], True).document.text == TEXT
