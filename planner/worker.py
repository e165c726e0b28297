"""Work in a process of its own, by `multiprocessing` with its method 'spawn': a death takes nothing along.

Why so: every command and the screen solve in such a process. It is begun before a command is loaded, for
both load the solver. A cancel is a message; work that does not heed one, or its time, is ended with its
process, and whoever asked keeps what it has told by then. The worker prints nothing, and ends when whoever
asked is gone.

Tried and left: forking, for a copy of a process with solver threads may hang.
"""

from __future__ import annotations

import contextlib
import importlib
import math
import os
import pickle
import queue
import signal
import sys
import threading
import time
import traceback
import types
from collections.abc import Callable, Iterator, Sequence
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess
from typing import Any, NoReturn

STOP = b"stop"
NEWS, ANSWER, FAILURE = "news", "answer", "failure"

PATIENCE_S = 0.12
"""Seconds that work is given to answer a cancel, after which its process is ended."""

LOOK_S = 0.02
"""Seconds between two looks at the cancel and the clock."""

DEATH_S = 1.0
"""Seconds that are waited for the code of a process whose pipe has ended."""


class WorkerLostError(RuntimeError):
    """A worker process ended without an answer, or was ended because it did not heed a cancel or its time."""


class OverrunError(WorkerLostError):
    """A worker process was ended because it did not end by its last moment."""


class Worker:
    """A process that does one piece of work after the other; call `close` when done.

    Parameters
    ----------
    loads
        Modules that it loads beforehand.
    """

    def __init__(self, loads: Sequence[str] = ()) -> None:
        self.loads = tuple(loads)
        self._process: SpawnProcess | None = None
        self._pipes: tuple[Connection, Connection] | None = None
        self._turn = threading.RLock()

    @property
    def process_id(self) -> int | None:
        """The worker's process id, None when there is none."""
        process = self._process
        return process.pid if process is not None else None

    def start(self) -> None:
        """Start the process if it does not run; returns before it has loaded anything."""
        with self._turn:
            if self._process is not None and self._process.is_alive():
                return
            self._end()
            context = get_context("spawn")
            their_work, work = context.Pipe(duplex=False)
            news, their_news = context.Pipe(duplex=False)
            process = context.Process(
                target=serve, args=(their_work, their_news, self.loads), name="worker", daemon=True
            )
            with _signals_held(), _without_main():
                process.start()
            their_work.close()
            their_news.close()
            self._process, self._pipes = process, (work, news)

    def run(
        self,
        work: str,
        *given: Any,
        cancel: threading.Event | None = None,
        watch: Callable[[Any], None] | None = None,
        tick: Callable[[], None] | None = None,
        until: Callable[[], float] = lambda: math.inf,
        patience_s: float = PATIENCE_S,
    ) -> Any:
        """Have a function called in the process, and wait for what it gives.

        Parameters
        ----------
        work
            The function as 'module:name'. It is called with what is given, with ``cancel``, an event, and,
            where there is one here, with ``watch``, which takes its news to that.
        tick
            Called every few hundredths of a second meanwhile.
        until
            Looks up the moment of the monotonic clock at which the process is ended, s.
        patience_s
            Seconds after a cancel at which the process is ended.

        Raises
        ------
        WorkerLostError
            If the process ends without an answer.
        Exception
            What the function raises.
        """
        with self._turn:
            self.start()
            self._send(pickle.dumps((work, given, watch is not None)))
            try:
                kind, message = self._answer(cancel, watch, tick, until, patience_s)
            except BaseException:  # its answer may come yet, and is not to be taken for that of the next
                self._end()
                raise
        if kind == FAILURE:
            raise message
        return message

    def _answer(
        self,
        cancel: threading.Event | None,
        watch: Callable[[Any], None] | None,
        tick: Callable[[], None] | None,
        until: Callable[[], float],
        patience_s: float,
    ) -> tuple[str, Any]:
        stopped_at = math.inf
        while True:
            if cancel is not None and cancel.is_set() and math.isinf(stopped_at):
                stopped_at = time.monotonic()
                self._send(STOP)
            if tick is not None:
                tick()
            message = self._next()
            if message is not None:
                if message[0] != NEWS:
                    return message
                if watch is not None:
                    watch(message[1])
            elif time.monotonic() > stopped_at + patience_s:
                self._end()
                raise WorkerLostError("its process did not heed the cancel")
            elif time.monotonic() > until():
                self._end()
                raise OverrunError("its process did not heed the time limit")

    def _next(self) -> tuple[str, Any] | None:
        """Receive what the process says next, None where that takes longer than a look."""
        assert self._pipes is not None
        try:
            if not self._pipes[1].poll(LOOK_S):
                return None
            kind, message = self._pipes[1].recv()
        except (EOFError, OSError) as error:
            raise self._lost() from error
        return kind, message

    def _send(self, message: bytes) -> None:
        assert self._pipes is not None
        try:
            self._pipes[0].send_bytes(message)
        except OSError as error:
            raise self._lost() from error

    def _lost(self) -> WorkerLostError:
        """Forget a process that has ended, and say how it did."""
        process = self._process
        assert process is not None
        process.join(DEATH_S)
        code, how = process.exitcode, ""
        if code is not None:
            how = f" (signal {-code})" if code < 0 else f" (code {code})"
        self._end()
        return WorkerLostError(f"its process ended by itself{how}")

    def _end(self) -> None:
        """End the process and close the pipes to it; only whoever has the turn may, for others read them."""
        self.kill()
        process, pipes, self._process, self._pipes = self._process, self._pipes, None, None
        if process is not None:
            process.join()
        for pipe in pipes or ():
            pipe.close()

    def close(self) -> None:
        """End the process; work that waits for its answer is told that it is lost."""
        self.kill()
        with self._turn:
            self._end()

    def kill(self) -> None:
        """End the process without waiting for it and without a lock, as a handler of signals may."""
        process = self._process
        if process is not None and process.pid is not None:
            _kill_group(process.pid)
            process.kill()


def _kill_group(process_id: int) -> None:
    """End a worker and what it has started, such as a solver that is a program of its own."""
    if hasattr(os, "killpg") and hasattr(signal, "SIGKILL"):
        with contextlib.suppress(OSError):
            os.killpg(process_id, signal.SIGKILL)


@contextlib.contextmanager
def _signals_held() -> Iterator[None]:
    """Hold back signals in a process that is begun meanwhile, until it stands apart from the terminal."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    from multiprocessing.resource_tracker import ensure_running

    # Beforehand, for it lets the signals through when it has begun a process of its own; to that it hands on
    # the descriptor of stderr, and where a screen has taken its place, there is none.
    with contextlib.redirect_stderr(sys.__stderr__):
        ensure_running()
    before = signal.pthread_sigmask(signal.SIG_BLOCK, (signal.SIGINT, signal.SIGTERM))
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


@contextlib.contextmanager
def _without_main() -> Iterator[None]:
    """Hide the program that runs, which a process that is begun meanwhile would else begin a second time."""
    main = sys.modules["__main__"]
    sys.modules["__main__"] = types.ModuleType("__main__")
    try:
        yield
    finally:
        sys.modules["__main__"] = main


def serve(work: Connection, news: Connection, loads: Sequence[str]) -> NoReturn:
    """Do one piece of work after the other, until whoever asks goes away; runs in the worker's process."""
    _stand_apart()
    asked: queue.SimpleQueue[tuple[bytes, threading.Event]] = queue.SimpleQueue()
    threading.Thread(target=_listen, args=(work, asked), name="listener", daemon=True).start()
    for name in loads:
        importlib.import_module(name)
    while True:
        message, cancel = asked.get()
        _do(news, message, cancel)


def _stand_apart() -> None:
    """Leave the streams and the signals of the terminal to whoever asks."""
    nothing = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(nothing, stream)
    if nothing > 2:  # else the system had closed one of the three
        os.close(nothing)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(os, "setsid"):
        os.setsid()
    if hasattr(signal, "pthread_sigmask"):
        signal.pthread_sigmask(signal.SIG_UNBLOCK, (signal.SIGINT, signal.SIGTERM))


def _listen(work: Connection, asked: queue.SimpleQueue[tuple[bytes, threading.Event]]) -> NoReturn:
    """Pass on what is asked, and cancel what was asked last; a pipe that ends ends the process."""
    cancel = threading.Event()
    while True:
        try:
            message = work.recv_bytes()
        except (EOFError, OSError):
            _leave()
        if message == STOP:
            cancel.set()
        else:
            cancel = threading.Event()
            asked.put((message, cancel))


def _do(news: Connection, message: bytes, cancel: threading.Event) -> None:
    one_at_a_time = threading.Lock()

    def tell(kind: str, said: Any) -> None:
        with one_at_a_time:
            news.send((kind, said))

    try:
        work, given, is_watched = pickle.loads(message)
        module, _, name = work.partition(":")
        function = getattr(importlib.import_module(module), name)
        named = {"watch": lambda said: tell(NEWS, said)} if is_watched else {}
        tell(ANSWER, function(*given, cancel=cancel, **named))
    except Exception as error:
        tell(FAILURE, _portable(error))


def _leave() -> NoReturn:
    """End this worker's process with all it has started: nobody asks any more."""
    if hasattr(os, "getpgrp") and os.getpgrp() == os.getpid():
        _kill_group(os.getpid())
    os._exit(0)


def _portable(error: Exception) -> Exception:
    """Make an error one that can be sent: itself, or its words where it cannot; where it arose is noted."""
    where = "".join(traceback.format_exception(error))
    try:
        pickle.loads(pickle.dumps(error))
    except Exception:
        error = RuntimeError(f"{type(error).__name__}: {error}")
    error.add_note(f"In its own process:\n{where}")
    return error
