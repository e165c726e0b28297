"""Solving and ordering in processes of their own: the screen stays quick, and a death takes nothing along."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import threading
from collections.abc import Callable
from multiprocessing.connection import Connection, Pipe
from typing import TYPE_CHECKING, Any

from planner.plan import Plan
from planner.site import Site

if TYPE_CHECKING:
    from planner.moves.progress import Progress as Done
    from planner.placement.asked import Options, Progress, Result
    from planner.report.why_page import WhyPage
    from tui.afterwork import Afterwork
    from tui.solving import Last

STOP = "stop"
LOOK_S = 0.02


class HelperGoneError(RuntimeError):
    """A helper process ended without an answer."""


class Helper:
    """A process that answers questions one after the other; call `close` when done."""

    def __init__(self) -> None:
        self._process: subprocess.Popen[bytes] | None = None
        self._line: Connection | None = None
        self._turn = threading.Lock()

    @property
    def process_id(self) -> int | None:
        """The helper's process id, None when there is none."""
        return self._process.pid if self._process is not None else None

    def ready(self) -> Connection:
        """Start the process if it does not run, and give the line to it."""
        if self._process is not None and self._process.poll() is None and self._line is not None:
            return self._line
        self.close()
        ours, theirs = Pipe()
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tui.apart", str(theirs.fileno())],
            pass_fds=[theirs.fileno()],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)},
        )
        theirs.close()
        self._line = ours
        return ours

    def ask(
        self, question: tuple[Any, ...], cancel: threading.Event | None, hear: Callable[[Any], None] | None
    ) -> Any:
        """Give the answer to a question; HelperGoneError when the process ends before."""
        with self._turn:
            try:
                line = self.ready()
                line.send(question)
                return self._listen(line, cancel, hear)
            except (EOFError, OSError) as error:
                raise HelperGoneError(f"its process ended by itself{self._how()}") from error

    def _listen(
        self, line: Connection, cancel: threading.Event | None, hear: Callable[[Any], None] | None
    ) -> Any:
        is_told = False
        while True:
            if cancel is not None and cancel.is_set() and not is_told:
                is_told = True
                line.send(STOP)
            if not line.poll(LOOK_S):
                continue
            sort, message = line.recv()
            if sort == "answer":
                return message
            if sort == "failure":
                raise RuntimeError(message)
            if hear is not None:
                hear(message)

    def _how(self) -> str:
        if self._process is None:
            return ""
        with contextlib.suppress(subprocess.TimeoutExpired):
            code = self._process.wait(1.0)
            return f" (signal {-code})" if code < 0 else f" (code {code})"
        return ""

    def close(self) -> None:
        """End the process."""
        line, process = self._line, self._process
        self._line = self._process = None
        if process is not None:
            with contextlib.suppress(OSError):
                process.kill()
            process.wait()
        if line is not None:
            line.close()


class ApartSolver(Helper):
    """A solver in a process of its own."""

    def __call__(
        self,
        site: Site,
        options: Options | None = None,
        *,
        last: Last | None = None,
        cancel: threading.Event | None = None,
        watch: Callable[[Progress], None] | None = None,
    ) -> Result:
        """Plan as `tui.work.plan_site` does; HelperGoneError when the process dies."""
        answer: Result = self.ask(("plan", site, options, last), cancel, watch)
        return answer


class ApartAfterworker(Helper):
    """Works out waves, ladder and peaks in a process of its own."""

    def __call__(self, site: Site, plan: Plan, progress: Done | None = None) -> Afterwork:
        """Work as `tui.afterwork.afterwork` does; HelperGoneError when the process dies or is closed."""
        answer: Afterwork = self.ask(("afterwork", site, plan, progress), None, None)
        return answer


class ApartWhy(Helper):
    """Works out why a service goes where it goes in a process of its own."""

    def __call__(
        self, site: Site, plan: Plan, service: str, time_s: float, cancel: threading.Event | None = None
    ) -> WhyPage:
        """Work as `tui.work.why` does; HelperGoneError when the process dies or is closed."""
        answer: WhyPage = self.ask(("why", site, plan, service, time_s), cancel, None)
        return answer


def serve(line: Connection) -> None:
    """Answer one question after the other until the asker goes away."""
    with contextlib.suppress(EOFError, OSError):
        while True:
            question = line.recv()
            if question != STOP:
                _answer(line, *question)


def _answer(line: Connection, sort: str, *given: Any) -> None:
    cancel, done = threading.Event(), threading.Event()
    answers: list[tuple[str, Any]] = []

    def work() -> None:
        try:
            found = _worked_out(sort, given, cancel, lambda news: line.send(("news", news)))
            answers.append(("answer", found))
        except Exception as error:
            answers.append(("failure", f"{type(error).__name__}: {error}"))
        done.set()

    threading.Thread(target=work, daemon=True).start()
    while not done.wait(LOOK_S):
        if not cancel.is_set() and line.poll():
            with contextlib.suppress(EOFError, OSError):
                line.recv()
            cancel.set()
    line.send(answers[0])


def _worked_out(
    sort: str, given: tuple[Any, ...], cancel: threading.Event, tell: Callable[[Any], None]
) -> object:
    from tui import work
    from tui.afterwork import afterwork

    if sort == "plan":
        site, options, last = given
        return work.plan_site(site, options, last=last, cancel=cancel, watch=tell)
    if sort == "afterwork":
        return afterwork(*given)
    site, plan, service, time_s = given
    return work.why(site, plan, service, time_s, cancel)


if __name__ == "__main__":
    serve(Connection(int(sys.argv[1])))
