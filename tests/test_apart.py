"""Work in a process of its own: answers, news, failures, cancels and deaths."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator

import pytest

from planner.worker import Helper, HelperGoneError
from tests.kit.works import WorkError

PATIENCE_S = 0.5


@pytest.fixture(scope="module")
def helper() -> Iterator[Helper]:
    """A helper process, started once."""
    made = Helper(("tests.kit.works",), PATIENCE_S)
    yield made
    made.close()


def test_it_answers_one_question_after_the_other(helper: Helper) -> None:
    """Each answer comes from the same process, with its news before it."""
    heard: list[int] = []
    assert [helper.ask("tests.kit.works:doubled", (n,), hear=heard.append) for n in range(3)] == [0, 2, 4]
    assert heard == [0, 1, 2]


def test_what_the_work_raises_is_raised(helper: Helper) -> None:
    """An error comes through as itself, with where it arose, or in words where it cannot be sent."""
    with pytest.raises(WorkError, match="no such number") as caught:
        helper.ask("tests.kit.works:failing", ())
    assert "in failing\n" in caught.value.__notes__[0]
    with pytest.raises(RuntimeError, match="StrangeError: no such number"):
        helper.ask("tests.kit.works:failing_strangely", ())
    with pytest.raises(AttributeError, match="unheard_of"):
        helper.ask("tests.kit.works:unheard_of", ())
    assert helper.ask("tests.kit.works:doubled", (21,)) == 42


def test_a_cancel_arrives(helper: Helper) -> None:
    """Work that heeds a cancel answers it, and the process stays."""
    cancel, before = threading.Event(), helper.ready()
    assert helper.ask("tests.kit.works:heeding", (), cancel, lambda _: cancel.set()) == "called off"
    assert helper.ready() is before


def test_work_that_does_not_heed_a_cancel_is_ended(helper: Helper) -> None:
    """Deaf work is ended with its process soon after a cancel; the next question gets a new one."""
    cancel, moments = threading.Event(), [0.0]

    def hear(_: int) -> None:
        moments[0] = time.monotonic()
        cancel.set()

    with pytest.raises(HelperGoneError, match="did not heed the cancel"):
        helper.ask("tests.kit.works:deaf", (), cancel, hear)
    assert PATIENCE_S <= time.monotonic() - moments[0] < 30.0
    assert helper.process_id is None
    assert helper.ask("tests.kit.works:doubled", (1,)) == 2


def test_a_process_with_something_left_behind_is_ended(helper: Helper) -> None:
    """What goes on after an answer does not take the machine from the next question."""
    first = helper.ask("tests.kit.works:busy", ())
    assert helper.process_id is None
    assert helper.ask("tests.kit.works:busy", ()) != first


def test_a_death_is_told(helper: Helper) -> None:
    """How the process ended is said; the next question gets a new one."""
    with pytest.raises(HelperGoneError, match=r"ended by itself \(signal 9\)"):
        helper.ask("tests.kit.works:dying", ())
    assert helper.ask("tests.kit.works:doubled", (1,)) == 2
