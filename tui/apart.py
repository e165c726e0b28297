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
    from planner.placement.solve import Options, Progress, Result
    from tui.afterwork import Afterwork

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
        cancel: threading.Event | None = None,
        watch: Callable[[Progress], None] | None = None,
    ) -> Result:
        """Solve as `planner.placement.solve.solve` does; HelperGoneError when the process dies."""
        answer: Result = self.ask(("solve", site, options), cancel, watch)
        return answer


class ApartAfterworker(Helper):
    """Works out waves and ladder in a process of its own."""

    def __call__(self, site: Site, plan: Plan) -> Afterwork:
        """Work as `tui.afterwork.afterwork` does; HelperGoneError when the process dies or is closed."""
        answer: Afterwork = self.ask(("afterwork", site, plan), None, None)
        return answer


def serve(line: Connection) -> None:
    """Answer one question after the other until the asker goes away."""
    with contextlib.suppress(EOFError, OSError):
        while True:
            question = line.recv()
            if question != STOP:
                _answer(line, *question)


def _answer(line: Connection, sort: str, site: Site, given: Any) -> None:
    cancel, done = threading.Event(), threading.Event()
    answers: list[tuple[str, Any]] = []

    def work() -> None:
        from planner.placement.solve import solve
        from tui.afterwork import afterwork

        try:
            if sort == "solve":
                found: Any = solve(site, given, cancel=cancel, watch=lambda p: line.send(("news", p)))
            else:
                found = afterwork(site, given)
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


if __name__ == "__main__":
    serve(Connection(int(sys.argv[1])))
