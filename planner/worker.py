"""Work in processes of their own: whoever asks stays quick, and a death takes nothing along.

Why so: ``plan``, ``why``, ``moves`` and the screen solve in a process of their own. It is started before
the command is loaded, for both load the solver: about 0.1 s on two cores.

Tried and left: forking, for a copy of a process with solver threads may hang.
"""

from __future__ import annotations

import contextlib
import importlib
import math
import os
import pickle
import signal
import subprocess
import sys
import threading
import time
import traceback
from collections.abc import Callable, Sequence
from multiprocessing.connection import Connection, Pipe
from typing import Any, NoReturn

STOP = "stop"
NEWS, ANSWER, FAILURE = "news", "answer", "failure"

BUSY = ", still busy"
"""Added to the sort of an answer whose work left something behind that goes on."""

LOOK_S = 0.02

Hear = Callable[[Any], None]


class HelperGoneError(RuntimeError):
    """A helper process ended without an answer."""


class Helper:
    """A process that does one piece of work after the other; call `close` when done.

    ``loads``: modules that it loads beforehand. ``patience_s``: seconds that it is given to answer a
    cancel, after which it is ended.
    """

    def __init__(self, loads: Sequence[str] = (), patience_s: float = math.inf) -> None:
        self._loads, self._patience_s = tuple(loads), patience_s
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
            [sys.executable, "-m", "planner.worker", str(theirs.fileno()), *self._loads],
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
        self,
        work: str,
        given: tuple[Any, ...],
        cancel: threading.Event | None = None,
        hear: Hear | None = None,
    ) -> Any:
        """Give what a function answers, or raise what it raises.

        ``work`` names it as 'module:function'; it is called with what is given, with the event that
        cancels it, and with what takes its news to ``hear``. Raises HelperGoneError when the process ends
        without an answer.
        """
        with self._turn:
            try:
                line = self.ready()
                line.send((work, given))
                return self._listen(line, cancel, hear)
            except (EOFError, OSError) as error:
                raise HelperGoneError(f"its process ended by itself{self._how()}") from error

    def _listen(self, line: Connection, cancel: threading.Event | None, hear: Hear | None) -> Any:
        is_told, until = False, math.inf
        while True:
            if cancel is not None and cancel.is_set() and not is_told:
                is_told, until = True, time.monotonic() + self._patience_s
                line.send(STOP)
            if line.poll(LOOK_S):
                sort, message = line.recv()
                if sort != NEWS:
                    return self._answered(sort, message)
                if hear is not None:
                    hear(message)
            elif time.monotonic() > until:
                self.close()
                raise HelperGoneError("its process did not heed the cancel")

    def _answered(self, sort: str, message: Any) -> Any:
        """Give an answer or raise a failure; a process that left something behind is ended."""
        if sort.endswith(BUSY):
            self.close()
        if sort.startswith(FAILURE):
            raise message
        return message

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
            _end_group(process.pid)
            process.wait()
        if line is not None:
            line.close()

    def kill(self) -> None:
        """End the process without waiting for it and without a lock, as a handler of signals may."""
        process = self._process
        if process is not None and process.returncode is None:
            _end_group(process.pid)


def _end_group(process_id: int) -> None:
    """End a helper and what it has started, such as a solver that is a program of its own."""
    with contextlib.suppress(OSError):
        if hasattr(os, "killpg"):
            os.killpg(process_id, signal.SIGKILL)
        else:
            os.kill(process_id, signal.SIGTERM)


def serve(line: Connection) -> None:
    """Do one piece of work after the other, until the asker goes away."""
    with contextlib.suppress(EOFError, OSError):
        while True:
            asked = line.recv()
            if asked != STOP:
                _answer(line, *asked)


def _answer(line: Connection, work: str, given: tuple[Any, ...]) -> None:
    cancel, before = threading.Event(), threading.active_count()
    answers: list[tuple[str, Any]] = []

    def run() -> None:
        module, _, name = work.partition(":")
        try:
            function = getattr(importlib.import_module(module), name)
            answers.append((ANSWER, function(*given, cancel, lambda news: line.send((NEWS, news)))))
        except Exception as error:
            answers.append((FAILURE, _portable(error)))

    at_work = threading.Thread(target=run, daemon=True)
    at_work.start()
    while at_work.is_alive():
        at_work.join(LOOK_S)
        if at_work.is_alive() and line.poll():
            try:
                line.recv()
            except (EOFError, OSError):
                leave()
            cancel.set()
    sort, message = answers[0]
    line.send((sort + BUSY if threading.active_count() > before else sort, message))


def leave() -> NoReturn:
    """End this helper's process with all it has started: nobody asks any more."""
    if hasattr(os, "getpgrp") and os.getpgrp() == os.getpid():
        _end_group(os.getpid())
    os._exit(0)


def _portable(error: Exception) -> Exception:
    """Give an error as it can be sent: itself, or its words where it cannot; where it arose is noted."""
    where = "".join(traceback.format_exception(error))
    try:
        pickle.loads(pickle.dumps(error))
    except Exception:
        error = RuntimeError(f"{type(error).__name__}: {error}")
    error.add_note(f"In its own process:\n{where}")
    return error


if __name__ == "__main__":
    connection = Connection(int(sys.argv[1]))
    for loaded in sys.argv[2:]:
        importlib.import_module(loaded)
    serve(connection)
    # What was left behind is not waited for.
    leave()
