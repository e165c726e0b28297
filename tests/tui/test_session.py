"""The editing session without a screen: edits, undo, plans that come late, saving."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.domain.conflict import Conflict, Rule, Shown
from planner.domain.plan import Outcome
from planner.inventory import load
from planner.inventory.editing import ChangedError, SaveError
from planner.placement.result import Result
from tests.tui.screens import SMALL, copy_of, stand_in
from tui import edits
from tui.session import RefusedError, Session, Standing

TEXT = SMALL.read_text(encoding="utf-8")


@pytest.fixture
def session(tmp_path: Path) -> Session:
    """A session on a copy of the small office."""
    return Session.open(copy_of(tmp_path))


def physical(session: Session, *names: str, written: str | None = "its card fits no guest") -> edits.Edit:
    """Make the edit that services stay physical."""
    paths = [("services", name) for name in names]
    return edits.change(session.document, paths, {("stay_physical",): written})


def make(session: Session, edit: edits.Edit) -> None:
    """Take an edit over."""
    assert session.edit(edit.name, edit.document)


def test_an_edit_changes_the_site_and_is_named(session: Session) -> None:
    """What can be undone says what it is."""
    make(session, physical(session, "map-tiles"))
    assert session.site.service["map-tiles"].physical == "its card fits no guest"
    assert session.undo() == "map-tiles stays physical"
    assert session.redo() == "map-tiles stays physical"
    assert session.undo() is not None
    assert (session.undo(), session.document.text) == (None, TEXT)


def test_several_services_are_one_edit(session: Session) -> None:
    """One undo takes back what was done to all marked rows."""
    make(session, physical(session, "map-tiles", "intranet", "timesheets"))
    assert session.undo() == "3 services stay physical"
    assert session.document.text == TEXT


def test_an_edit_after_undo_forgets_what_was_undone(session: Session) -> None:
    """There is one line of history, not a tree."""
    make(session, physical(session, "map-tiles"))
    session.undo()
    make(session, physical(session, "mail-relay"))
    assert session.redo() is None


def test_an_edit_that_breaks_the_file_is_refused(session: Session) -> None:
    """The reason is in the person's words, and the text stays."""
    broken = edits.change(session.document, [("services", "intranet")], {("box",): "oak"})
    with pytest.raises(RefusedError, match="there is no box oak"):
        session.edit(broken.name, broken.document)
    assert session.document.text == TEXT
    assert not session.done


def test_a_box_with_services_cannot_be_removed(session: Session) -> None:
    """Removing it would leave services on nothing."""
    edit = edits.remove(session.document, [("boxes", "gorse")])
    with pytest.raises(RefusedError, match="there is no box gorse"):
        session.edit(edit.name, edit.document)


def test_a_removed_service_leaves_the_rules(session: Session) -> None:
    """Rules for two go with one of them; what depended on it does no longer."""
    make(session, edits.remove(session.document, [("services", "job-database")]))
    assert [rule.because for rule in session.site.apart] == ["directory servers must not fail together"]
    assert session.site.service["timesheets"].depends_on == ()


def test_a_plan_for_an_older_text_is_dropped(session: Session) -> None:
    """Late answers never overwrite what belongs to the text on the screen."""
    old = session.revision
    make(session, physical(session, "map-tiles"))
    assert not session.take(stand_in(session.site), old)
    assert session.planned is None
    assert session.take(stand_in(session.site), session.revision)
    assert session.standing is Standing.PROVEN


def test_a_plan_is_stale_after_an_edit(session: Session) -> None:
    """The plan from before stays in sight, marked."""
    session.take(stand_in(session.site), session.revision)
    make(session, physical(session, "map-tiles"))
    assert session.standing is Standing.STALE
    assert session.planned is not None


def test_no_plan_keeps_the_last_one(session: Session) -> None:
    """A conflict is told with its reasons; the plan from before is not lost."""
    session.take(stand_in(session.site), session.revision)
    kept = session.planned
    dear = Conflict(Rule.BUDGET, amount=600.0, unit="EUR", there=3400.0, shown=Shown.REPAIR)
    session.take(Result(Outcome.INFEASIBLE, None, (dear,)), session.revision)
    assert (session.standing, session.conflicts) == (Standing.IMPOSSIBLE, (dear,))
    assert session.reasons[1:] == ("the budget of 3400 EUR would have to be 600 more",)
    assert session.planned is kept


def test_a_failed_solver_is_told(session: Session) -> None:
    """A solver that dies leaves text and plan as they are."""
    session.take(stand_in(session.site), session.revision)
    assert session.fail("its process ended by itself", session.revision)
    assert session.standing is Standing.FAILED
    assert session.planned is not None


def test_a_held_plan_stays_for_comparing(session: Session) -> None:
    """Later plans are compared with the one held."""
    assert not session.pin()
    session.take(stand_in(session.site), session.revision)
    held = session.planned
    assert session.pin()
    make(session, physical(session, "map-tiles"))
    session.take(stand_in(session.site), session.revision)
    assert session.pinned is held
    assert session.previous is held


def test_saving_changes_one_line(session: Session) -> None:
    """Only the edited line of the file differs, and its mode stays."""
    session.path.chmod(0o640)
    make(session, physical(session, "map-tiles"))
    assert not session.is_saved
    session.save()
    old, new = TEXT.splitlines(), session.path.read_text(encoding="utf-8").splitlines()
    assert len(old) == len(new)
    assert sum(a != b for a, b in zip(old, new, strict=True)) == 1
    assert session.is_saved
    assert session.path.stat().st_mode & 0o777 == 0o640
    assert load(session.path).site.service["map-tiles"].physical == "its card fits no guest"


def test_saving_twice_in_a_row_works(session: Session) -> None:
    """After saving, the version on disk is the one seen."""
    make(session, physical(session, "map-tiles"))
    session.save()
    make(session, physical(session, "mail-relay"))
    session.save()
    assert session.is_saved


def test_a_file_changed_by_another_program_is_not_overwritten(session: Session) -> None:
    """Both versions stay: theirs in the file, ours beside it."""
    make(session, physical(session, "map-tiles"))
    theirs = TEXT.replace("budget: 3400", "budget: 3500")
    session.path.write_text(theirs, encoding="utf-8")
    with pytest.raises(ChangedError, match="changed by another program"):
        session.save()
    other = session.save_beside()
    assert session.path.read_text(encoding="utf-8") == theirs
    assert other.read_text(encoding="utf-8") == session.document.text
    session.reread()
    assert session.site.policy.budget == 3500
    session.undo()
    assert session.site.service["map-tiles"].physical is not None


def test_a_file_that_is_gone_is_not_made_anew(session: Session) -> None:
    """It may have been moved away for a reason."""
    make(session, physical(session, "map-tiles"))
    session.path.unlink()
    with pytest.raises(ChangedError, match="is gone"):
        session.save()
    assert not session.path.exists()


def test_a_read_only_file_is_told_before_anything_is_written(session: Session) -> None:
    """The text stays; the folder holds nothing new."""
    make(session, physical(session, "map-tiles"))
    session.path.chmod(0o440)
    with pytest.raises(SaveError, match="read-only"):
        session.save()
    assert os.listdir(session.path.parent) == [session.path.name]
    assert session.path.read_text(encoding="utf-8") == TEXT


def test_a_full_disk_leaves_the_file_whole(session: Session, monkeypatch: pytest.MonkeyPatch) -> None:
    """No half-written file, no leftover, a clear message."""

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    make(session, physical(session, "map-tiles"))
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(SaveError, match="No space left on device"):
        session.save()
    assert os.listdir(session.path.parent) == [session.path.name]
    assert session.path.read_text(encoding="utf-8") == TEXT
    assert not session.is_saved


NAMES = ("map-tiles", "intranet", "print-server", "job-database")
ANY_EDIT = st.one_of(
    st.tuples(st.just("physical"), st.sampled_from(NAMES), st.text("abc: ,{}#'\"é", min_size=1, max_size=8)),
    st.tuples(st.just("remove"), st.sampled_from(NAMES), st.just("")),
    st.tuples(st.just("copy"), st.sampled_from(NAMES), st.text("xyz", min_size=1, max_size=3)),
)


@pytest.mark.slow
@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(ANY_EDIT, max_size=5))
def test_undoing_everything_gives_the_file_back(tmp_path: Path, wanted: list[tuple[str, str, str]]) -> None:
    """Whatever is done, undoing all of it leaves not one character changed, and redoing brings it back."""
    session = Session.open(copy_of(tmp_path))
    for sort, name, text in wanted:
        try:
            session.edit(sort, _edit(session, sort, name, text).document)
        except RefusedError:
            continue
    last = session.document.text
    count = len(session.done)
    for _ in range(count):
        session.undo()
    assert session.document.text == TEXT
    for _ in range(count):
        session.redo()
    assert session.document.text == last


def _edit(session: Session, sort: str, name: str, text: str) -> edits.Edit:
    from planner.inventory.editing import text_scalar

    if sort == "physical":
        return physical(session, name, written=text_scalar(text))
    if sort == "remove":
        return edits.remove(session.document, [("services", name)])
    return edits.copy(session.document, ("services", name), text)
