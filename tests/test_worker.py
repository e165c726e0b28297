"""Work in a process of its own: answers, news, failures, cancels and deaths."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from planner.worker import OverrunError, Worker, WorkerLostError
from tests.kit.works import WorkError

PATIENCE_S = 60.0
"""Enough for work that heeds a cancel, on a busy machine too."""

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="module")
def worker() -> Iterator[Worker]:
    """A worker process, started once."""
    made = Worker(("tests.kit.works",))
    yield made
    made.close()


def test_it_answers_one_question_after_the_other(worker: Worker) -> None:
    """Each answer comes from the same process, with its news before it."""
    heard: list[int] = []
    assert [worker.run("tests.kit.works:doubled", n, watch=heard.append) for n in range(3)] == [0, 2, 4]
    assert heard == [0, 1, 2]


def test_what_the_work_raises_is_raised(worker: Worker) -> None:
    """An error comes through as itself, with where it arose, or in words where it cannot be sent."""
    with pytest.raises(WorkError, match="no such number") as caught:
        worker.run("tests.kit.works:failing")
    assert "in failing\n" in caught.value.__notes__[0]
    with pytest.raises(RuntimeError, match="StrangeError: no such number"):
        worker.run("tests.kit.works:failing_strangely")
    with pytest.raises(AttributeError, match="unheard_of"):
        worker.run("tests.kit.works:unheard_of")
    assert worker.run("tests.kit.works:doubled", 21) == 42


def test_a_cancel_arrives(worker: Worker) -> None:
    """Work that heeds a cancel answers it, and the process stays."""
    worker.start()
    cancel, before = threading.Event(), worker.process_id
    named = "tests.kit.works:heeding"
    said = worker.run(named, cancel=cancel, watch=lambda _: cancel.set(), patience_s=PATIENCE_S)
    assert said == "called off"
    assert worker.process_id == before


def test_a_cancel_that_comes_late_does_not_reach_the_next_work(worker: Worker) -> None:
    """What is asked after a cancelled question is not cancelled."""
    cancel = threading.Event()
    cancel.set()
    for _ in range(20):
        worker.run("tests.kit.works:doubled", 1, cancel=cancel, patience_s=PATIENCE_S)
        assert worker.run("tests.kit.works:cancelled") is False


@pytest.mark.slow
def test_work_that_does_not_heed_a_cancel_is_ended(worker: Worker) -> None:
    """Deaf work is ended with its process; the next question gets a new one."""
    cancel = threading.Event()
    with pytest.raises(WorkerLostError, match="did not heed the cancel"):
        worker.run("tests.kit.works:deaf", cancel=cancel, watch=lambda _: cancel.set())
    assert worker.process_id is None
    assert worker.run("tests.kit.works:doubled", 1) == 2


def test_work_that_passes_its_last_moment_is_ended(worker: Worker) -> None:
    """Work that does not look at the clock is ended once its time is over."""
    heard, until = list[int](), [float("inf")]

    def hear(news: int) -> None:
        heard.append(news)
        until[0] = time.monotonic()

    with pytest.raises(OverrunError):
        worker.run("tests.kit.works:deaf", watch=hear, until=lambda: until[0])
    assert heard == [1]
    assert worker.run("tests.kit.works:doubled", 1) == 2


@pytest.mark.slow
def test_a_death_is_told(worker: Worker) -> None:
    """How the process ended is said; the next question gets a new one."""
    with pytest.raises(WorkerLostError, match=r"ended by itself \(signal 9\)"):
        worker.run("tests.kit.works:dying")
    assert worker.run("tests.kit.works:doubled", 1) == 2


def test_an_error_of_who_listens_is_not_a_death(worker: Worker) -> None:
    """What the listener raises comes through as it is, an OSError too."""

    def hear(news: int) -> None:
        raise BrokenPipeError(news)

    with pytest.raises(BrokenPipeError):
        worker.run("tests.kit.works:doubled", 1, watch=hear)
    assert worker.run("tests.kit.works:doubled", 4) == 8


@pytest.mark.slow
@pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="needs /proc")
def test_whoever_closes_it_leaves_the_descriptors_of_others_alone() -> None:
    """Closed by several threads while its answer is awaited: its pipes are closed once."""
    before = _descriptors()
    for _ in range(3):
        made, begun, lost = Worker(("tests.kit.works",)), threading.Event(), list[WorkerLostError]()

        def ask(made: Worker = made, begun: threading.Event = begun) -> None:
            try:
                made.run("tests.kit.works:deaf", watch=lambda _: begun.set())
            except WorkerLostError as error:
                lost.append(error)  # noqa: B023

        waiting = threading.Thread(target=ask)
        waiting.start()
        assert begun.wait(60.0)
        closers = [threading.Thread(target=made.close) for _ in range(4)]
        for closer in closers:
            closer.start()
        for thread in (*closers, waiting):
            thread.join()
        assert "signal 9" in str(lost[0])
        made.close()
    assert _descriptors() == before


def _descriptors() -> list[str]:
    """List what this process has open, pipes and files by what they are and not by their number."""
    import gc

    gc.collect()
    links = [f"/proc/self/fd/{name}" for name in os.listdir("/proc/self/fd")]
    return sorted(os.readlink(link) for link in links if os.path.lexists(link))


@pytest.mark.slow
def test_it_prints_nothing_and_runs_no_main_twice(tmp_path: Path) -> None:
    """What the work prints goes nowhere; a script without a guard is begun once."""
    script = tmp_path / "stillroom"
    script.write_text(
        "from planner.worker import Worker\n"
        "worker = Worker()\n"
        "print('before', flush=True)\n"
        "assert worker.run('tests.kit.works:printing') == 'printed'\n"
        "worker.close()\n",
        encoding="utf-8",
    )
    done = subprocess.run(
        [sys.executable, str(script)],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert (done.stdout, done.stderr) == ("before\n", "")
