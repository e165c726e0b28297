"""Each place on the screen: what it shows, and what its keys do."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from planner.moves import order
from planner.report.moves.page import moves_page
from tests.tui.screens import SMALL, drive, press, screen_text, stand_in
from tui.app import Stillroom
from tui.forms.ask import Ask
from tui.forms.entry import EntryForm
from tui.keys import PLACES
from tui.places.base import TablePlace
from tui.solving.analyses import Afterwork


def table(app: Stillroom) -> TablePlace:
    """Make the place at hand, which must be a table."""
    assert isinstance(app.place, TablePlace)
    return app.place


@pytest.mark.slow
@pytest.mark.parametrize(("number", "place"), list(enumerate(PLACES, start=1)))
def test_a_digit_goes_to_a_place(tmp_path: Path, number: int, place: str) -> None:
    """Every place is one key away, and says where one is."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await press(pilot, str(number))
        assert app.here == place
        assert f"[{place.capitalize()}]" in screen_text(app)
        assert "✔ proven" in screen_text(app)

    drive(tmp_path, script)


def test_a_click_goes_to_a_place(tmp_path: Path) -> None:
    """The mouse does what the digits do."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await pilot.click("#tab-heat")
        await pilot.pause()
        assert app.here == "heat"
        assert "Racks" in screen_text(app) or "around the room" in screen_text(app)

    drive(tmp_path, script)


@pytest.mark.slow
def test_a_service_is_made_physical_and_the_plan_follows(tmp_path: Path) -> None:
    """The edit, the new plan, undo and redo are all on the screen, with their names."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await press(pilot, "down", "p")
        assert isinstance(app.screen, EntryForm)
        await press(pilot, "=its card", "enter")
        screen = screen_text(app)
        assert "✔ directory-2 stays physical" in screen
        assert "= keep (was virtualise)" in screen
        assert "● not saved" in screen
        await press(pilot, "u")
        assert "↶ undone: directory-2 stays physical" in screen_text(app)
        assert "= saved" in screen_text(app)
        await press(pilot, "r")
        assert "↷ done again: directory-2 stays physical" in screen_text(app)
        await press(pilot, "s")
        assert "✔ saved small-office.yaml" in screen_text(app)

    app = drive(tmp_path, script)
    old, new = SMALL.read_text("utf-8").splitlines(), app.session.path.read_text("utf-8").splitlines()
    assert sum(a != b for a, b in zip(old, new, strict=True)) == 1


@pytest.mark.slow
def test_marked_rows_are_changed_at_once(tmp_path: Path) -> None:
    """Two rows marked, one form, one edit, one undo."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await press(pilot, "space", "space", "p", "=no guest", "enter")
        assert app.session.done[-1].name == "2 services stay physical"
        assert app.session.site.service["directory-1"].physical == "no guest"
        assert app.session.site.service["directory-2"].physical == "no guest"
        await press(pilot, "u")
        assert app.session.is_saved

    drive(tmp_path, script)


@pytest.mark.slow
def test_marked_services_are_kept_apart(tmp_path: Path) -> None:
    """The rule asks only for its reason."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await press(pilot, "down", "down", "space", "space", "x", "=one is the copy", "enter")
        assert app.session.done[-1].name == "2 services stay apart"
        rule = app.session.site.apart[1]
        assert rule.services == frozenset({"plan-archive", "job-database"})
        assert rule.because == "one is the copy"
        await press(pilot, "3")
        assert "plan-archive" in screen_text(app)

    drive(tmp_path, script)


@pytest.mark.slow
def test_one_service_alone_makes_no_rule(tmp_path: Path) -> None:
    """What is missing is said, and nothing changes."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await press(pilot, "t")
        assert "mark two or more services" in screen_text(app)
        assert not app.session.done

    drive(tmp_path, script)


@pytest.mark.slow
def test_a_filter_shows_what_holds_all_words(tmp_path: Path) -> None:
    """Words may stand in any cell; Escape shows all again."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await press(pilot, "slash", "=keep elm", "enter")
        assert [row.key for row in table(app).sheet.drawn] == ["nightly-backup"]
        await press(pilot, "escape")
        assert len(table(app).sheet.drawn) == 14
        await press(pilot, "slash", "=zzz")
        assert "nothing holds these words" in screen_text(app)

    drive(tmp_path, script)


@pytest.mark.slow
def test_sorting_by_a_figure_is_by_its_value(tmp_path: Path) -> None:
    """6,000 GB is more than 900 GB, whatever the letters say."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        for _ in range(7):
            await press(pilot, "o")
        assert "disk ▲" in screen_text(app)
        await press(pilot, "O")
        assert [row.key for row in table(app).sheet.drawn][:2] == ["nightly-backup", "plan-archive"]
        await press(pilot, "o", "o")
        assert table(app).sheet.drawn[0].key == "directory-1"

    drive(tmp_path, script)


@pytest.mark.slow
def test_why_names_every_machine(tmp_path: Path) -> None:
    """What forbids each machine stands beside it."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        table(app).sheet.go_to("telephones")
        await press(pilot, "w")
        assert isinstance(app.screen, Ask)
        screen = screen_text(app)
        assert "Why telephones?" in screen
        assert "✖ quiet-host (host): telephones must not be a guest" in screen
        await press(pilot, "escape")
        assert not isinstance(app.screen, Ask)

    drive(tmp_path, script)


@pytest.mark.slow
def test_a_measure_is_forbidden_with_one_key(tmp_path: Path) -> None:
    """And allowed again with the same."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await press(pilot, "3")
        table(app).sheet.go_to("measures/door-seal")
        await press(pilot, "m")
        assert not app.session.site.measure["door-seal"].allowed
        assert "✖ not allowed" in screen_text(app)
        await press(pilot, "m")
        assert app.session.is_saved

    drive(tmp_path, script)


@pytest.mark.slow
def test_a_target_is_changed_from_its_row(tmp_path: Path) -> None:
    """Enter opens the form at the field that the row is about."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await press(pilot, "3")
        table(app).sheet.go_to("listeners/drawing-office")
        await press(pilot, "enter")
        assert isinstance(app.focused, Input)
        assert app.focused.value == "36 dBA"
        app.focused.value = "33 dBA"
        await press(pilot, "enter")
        assert app.session.done[-1].name == "drawing-office: target 33 dBA"
        assert "✖ over 33" in screen_text(app)

    drive(tmp_path, script)


@pytest.mark.slow
def test_a_box_is_copied_changed_and_removed(tmp_path: Path) -> None:
    """Add, copy and delete are one key and a name."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await press(pilot, "1", "c", "=alder-2", "enter")
        assert "alder-2" in app.session.site.box
        table(app).sheet.go_to("boxes/alder-2")
        await press(pilot, "d")
        assert app.session.is_saved or app.session.document.text == app.session.saved
        await press(pilot, "c", "=birch", "enter")
        assert isinstance(app.screen, EntryForm)
        assert "birch" in screen_text(app)
        await press(pilot, "escape")

    drive(tmp_path, script)


@pytest.mark.slow
def test_a_service_is_added(tmp_path: Path) -> None:
    """What is needed comes first; what is missing is said beside its field."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await press(pilot, "n", "=wiki", "enter")
        assert "✖ this is needed." in screen_text(app)
        form = app.screen
        assert isinstance(form, EntryForm)
        for line in form.lines:
            given = {"box": "gorse", "memory": "1 GiB", "disk": "10 GB", "cpu": "0.1"}.get(line.field.label)
            if given is not None and isinstance(line.control, Input):
                line.control.value = given
        await press(pilot, "enter")
        assert app.session.site.service["wiki"].box == "gorse"
        assert app.session.done[-1].name == "wiki added"

    drive(tmp_path, script)


@pytest.mark.slow
def test_the_sound_place_turns_to_the_next_listener(tmp_path: Path) -> None:
    """Bars are those of one listener at a time."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await press(pilot, "5")
        assert "plotter-desk: 74 dBA today" in screen_text(app)
        await press(pilot, "v")
        assert "drawing-office: 44 dBA today" in screen_text(app)

    drive(tmp_path, script)


@pytest.mark.slow
def test_what_changed_stands_on_top_of_the_plan(tmp_path: Path) -> None:
    """Against the plan before, and against the one held."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await press(pilot, "4", "h")
        await press(pilot, "2", "down", "p", "=its card", "enter", "4")
        screen = screen_text(app)
        assert "Changed against the plan held" in screen
        assert "directory-2: virtualise on quiet-host-1 -> keep on cedar" in screen
        assert "box cedar: switch off -> keep" in screen

    drive(tmp_path, script)


@pytest.mark.slow
def test_the_moves_place_lists_waves_with_level_and_watts(tmp_path: Path) -> None:
    """Each wave says how loud the room is and what it draws once it is done."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        planned = app.session.planned
        assert planned is not None
        page = moves_page(planned.site, "proven", order(planned.site, planned.plan.state))
        app.session.afterwork = Afterwork(page)
        app.show_all()
        await press(pilot, "7")
        assert len(table(app).sheet.drawn) == len(page.waves) + 1
        assert f"{len(page.waves)} windows" in screen_text(app)
        await press(pilot, "down")
        assert page.waves[0].tasks[0].text in screen_text(app).replace("\n ", " ")

    drive(tmp_path, script, solver=stand_in)


@pytest.mark.slow
def test_a_box_is_renamed_wherever_it_is_named(tmp_path: Path) -> None:
    """Its services follow; one step undoes it all; a name that is taken is refused beside the field."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        before = app.session.document.text
        await press(pilot, "1", "slash", "=gorse", "enter", "f")
        assert "another name for gorse" in screen_text(app)
        await press(pilot, "=hazel", "enter")
        assert "hazel stands there already" in screen_text(app)
        await press(pilot, "=furze", "enter")
        assert app.session.done[-1].name == "gorse renamed furze"
        assert {item.box for item in app.session.site.services} >= {"furze"}
        assert "gorse" not in app.session.site.box
        await press(pilot, "u")
        assert app.session.document.text == before

    drive(tmp_path, script)
