"""What may go wrong around the screen: files, names, sizes, keys."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from textual.pilot import Pilot

from planner.inventory.editing import text_scalar
from tests.tui.screens import SMALL, drive, press, screen_text
from tests.tui.sizes import many
from tui.app import Stillroom
from tui.forms.entry import EntryForm
from tui.keys import DEEDS, PLACES, TAKEN_BY_TERMINALS, KeysError, checked_keys, read_keys
from tui.places.base import Place, TablePlace

TEXT = SMALL.read_text(encoding="utf-8")
NAMES = (
    "[/x] [bold red]markup[/]",
    "café ☕ 漢字かな",
    "🖥️ 👩‍🔧 emoji",
    "خادم البريد",
    "x" * 64,
    "a: b, {c} #d",
    "'quoted' \"twice\" \\n",
)


def renamed(names: tuple[str, ...]) -> str:
    """Write the small office with more services, of strange names and reasons."""
    lines = [
        f"  {text_scalar(name)}: {{box: gorse, cpu: 0.01, memory: 0.1 GiB, disk: 1 GB,"
        f" stay_physical: {text_scalar(name * 3)}}}\n"
        for name in names
    ]
    return TEXT.replace("services:\n", "services:\n" + "".join(lines))


@pytest.mark.slow
@pytest.mark.parametrize("size", [(100, 30), (80, 24)])
def test_strange_names_are_shown_whole_or_cut_cleanly(tmp_path: Path, size: tuple[int, int]) -> None:
    """No name is taken as markup, none breaks a line, none crashes a place or a form."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await press(pilot, "2")
        screen = screen_text(app)
        assert "[/x] [bold red]markup[/]" in screen
        assert "x" * 29 + "…" in screen
        assert "خادم البريد" in screen
        for number in "134567" if size == (100, 30) else "":
            await press(pilot, number)
        await press(pilot, "2", "w", "escape", "e")
        assert isinstance(app.screen, EntryForm)
        assert "[/x] [bold red]markup[/]" in screen_text(app)

    drive(tmp_path, script, source=renamed(NAMES), size=size)


@pytest.mark.slow
def test_a_screen_made_tiny_and_large_again_is_the_same(tmp_path: Path) -> None:
    """20 x 5 shows little, but nothing is lost or broken."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await press(pilot, "p", "=its card", "enter")
        for number in "257":
            await press(pilot, number)
            before = screen_text(app)
            await pilot.resize_terminal(20, 5)
            await pilot.pause()
            assert len(screen_text(app).splitlines()) <= 5
            await pilot.resize_terminal(100, 30)
            await pilot.pause()
            assert screen_text(app) == before
        await press(pilot, "2", "e")
        await pilot.resize_terminal(20, 5)
        await pilot.pause()
        await pilot.resize_terminal(100, 30)
        await press(pilot, "escape")
        assert app.session.done[-1].name == "directory-1 stays physical"

    drive(tmp_path, script)


@pytest.mark.slow
def test_a_thousand_services_are_filtered_sorted_and_edited(tmp_path: Path) -> None:
    """Everything works at that size; the benchmarks say how fast."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        place = app.place
        assert isinstance(place, TablePlace)
        assert place.sheet.row_count == 1014
        await press(pilot, "slash", "=extra-77", "enter")
        assert place.sheet.row_count == 11
        await press(pilot, "escape", "end")
        assert place.sheet.key_here == "telephones"
        await press(pilot, "o", "home")
        assert place.sheet.key_here == "alarm-watch"
        await press(pilot, "p", "=so", "enter")
        assert app.session.done

    drive(tmp_path, script, source=many(1000))


@pytest.mark.slow
def test_saving_over_a_changed_file_asks(tmp_path: Path) -> None:
    """Mine beside it, or theirs with mine one undo away: never one over the other."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        path = app.session.path
        await press(pilot, "p", "=mine", "enter")
        path.write_text(TEXT.replace("budget: 3400", "budget: 3500"), encoding="utf-8")
        await press(pilot, "s")
        assert "changed by another program" in screen_text(app)
        await press(pilot, "b")
        beside = path.with_name("small-office-mine.yaml")
        assert "✔ saved yours as small-office-mine.yaml" in screen_text(app)
        assert "stay_physical: mine" in beside.read_text(encoding="utf-8")
        await press(pilot, "s", "t")
        assert app.session.site.policy.budget == 3500
        await press(pilot, "u")
        assert app.session.site.service["directory-1"].physical == "mine"

    drive(tmp_path, script)


@pytest.mark.slow
def test_a_file_that_cannot_be_written_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Read-only or disk full: a clear message, and the text stays on the screen."""

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await press(pilot, "p", "=mine", "enter")
        app.session.path.chmod(0o444)
        await press(pilot, "s")
        assert "read-only" in screen_text(app)
        app.session.path.chmod(0o644)
        monkeypatch.setattr(os, "fsync", full)
        await press(pilot, "s")
        assert "No space left on device; nothing is lost" in screen_text(app)
        monkeypatch.undo()
        await press(pilot, "s")
        assert "✔ saved" in screen_text(app)

    drive(tmp_path, script)


@pytest.mark.slow
def test_leaving_asks_when_something_is_not_saved(tmp_path: Path) -> None:
    """Save and leave, leave without, or stay."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await press(pilot, "p", "=mine", "enter", "q")
        assert "1 edits are not saved" in screen_text(app) or "not saved" in screen_text(app)
        await press(pilot, "escape")
        assert not app.is_leaving
        await press(pilot, "q", "s")

    app = drive(tmp_path, script)
    assert app.is_leaving
    assert "stay_physical: mine" in app.session.path.read_text(encoding="utf-8")


def test_no_key_is_one_that_terminals_take() -> None:
    """Nor twice the same."""
    keys = [key for deed in DEEDS for key in deed.key.split(",")]
    assert not set(keys) & TAKEN_BY_TERMINALS
    assert len(keys) == len(set(keys))
    assert not any(key.startswith("ctrl+") for key in keys)


@pytest.mark.slow
def test_the_footer_shows_six_keys_at_most(tmp_path: Path) -> None:
    """In every place."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        for number, name in enumerate(PLACES, start=1):
            await press(pilot, str(number))
            shown = [item for item in app.screen.active_bindings.values() if item.binding.show]
            assert 1 <= len(shown) <= 6, name
            assert len(app.query_one(f"#{name}", Place).BINDINGS) <= 6

    drive(tmp_path, script)


def test_keys_can_be_changed(tmp_path: Path) -> None:
    """A key of the person's own does the deed; the old one does not; the footer shows it."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await press(pilot, "f4")
        assert isinstance(app.screen, EntryForm)
        await press(pilot, "escape", "p")
        assert not isinstance(app.screen, EntryForm)
        assert "f4 physical" in screen_text(app)

    drive(tmp_path, script, keys={"physical": "f4"})


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("safe: f2", "there is no action safe"),
        ("save: ctrl+s", "terminals and multiplexers take ctrl\\+s"),
        ("save: u", "u would be both"),
        ("- save", "must hold lines"),
        ("{", "is no list"),
    ],
)
def test_a_file_of_keys_is_checked(tmp_path: Path, text: str, reason: str) -> None:
    """Mistakes are told with the file's name."""
    path = tmp_path / "keys.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(KeysError, match=reason):
        read_keys(path)


def test_a_good_file_of_keys_is_taken(tmp_path: Path) -> None:
    """Two actions may change keys with each other."""
    assert checked_keys({"undo": "r", "redo": "u"}, "keys") == {"undo": "r", "redo": "u"}


@pytest.mark.slow
def test_every_action_is_in_the_list_of_all_actions(tmp_path: Path) -> None:
    """By its words, and it can be run from there."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        titles = {command.title for command in app.get_system_commands(app.screen)}
        assert titles == {deed.word for deed in DEEDS if deed.id != "palette"}
        await pilot.press("a")
        await pilot.pause(0.3)
        await pilot.press(*"dark")
        await pilot.pause(0.5)
        await pilot.press("enter")
        await pilot.pause(0.3)
        assert app.theme == "stillroom-day"

    drive(tmp_path, script)


@pytest.mark.slow
def test_without_colour_every_state_is_still_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Words and signs say it all; NO_COLOR takes only the colour away."""
    screens: list[str] = []

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        for number in ("2", "5"):
            await press(pilot, number)
            screens.append(screen_text(app))
        if os.environ.get("NO_COLOR"):
            strips = app.screen._compositor.render_strips()
            styles = [segment.style for strip in strips for segment in strip if segment.style]
            filtered = [item.name for style in styles if style.color for item in [style.color]]
            assert filtered

    for value in ("", "1"):
        monkeypatch.setenv("NO_COLOR", value)
        folder = tmp_path / f"run{value}"
        folder.mkdir()
        drive(folder, script)
    assert screens[:2] == screens[2:]


@pytest.mark.slow
def test_help_says_what_the_keys_do(tmp_path: Path) -> None:
    """For the place one is at."""

    async def script(app: Stillroom, pilot: Pilot[None]) -> None:
        await press(pilot, "question_mark")
        screen = screen_text(app)
        assert "Services: services, what they take" in screen
        await press(pilot, "escape")

    drive(tmp_path, script)
