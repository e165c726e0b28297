"""SIGINT and SIGTERM: how a command ends that is signalled at some moment, and what it leaves behind."""

from __future__ import annotations

import math
import os
import signal
import subprocess
import sys
import termios
import threading
import time
from pathlib import Path

import pytest

from planner.cli import signals
from planner.cli.exit_codes import ExitCode
from tests.benchmarks.signals import MARK, Case, outcome, processes_of, signalled
from tests.cli.tiny import ROOT, run, write_tiny

pytestmark = pytest.mark.skipif(not Path("/proc/self/environ").exists(), reason="needs /proc")

BUSY = """
import ctypes, sys, threading
from planner.cli import solving
from planner.cli.commands import verify

LOCK = ctypes.create_string_buffer(64)

def forever(site, plan):
    print("ready", file=sys.stderr, flush=True)
    return {work}

verify.verify_plan = forever
from planner.cli import main
main()
"""
LONG = "[ctypes.CDLL(None).pthread_mutex_lock(LOCK) for _ in (1, 2)]"
FIRST = "print('ready', file=sys.stderr, flush=True) or threading.Event().wait()"


@pytest.fixture
def saved(tmp_path: Path) -> tuple[Path, Path]:
    """Make the tiny inventory and a saved plan of it."""
    file, plan = write_tiny(tmp_path), tmp_path / "plan.json"
    assert run("plan", file, "-o", plan).exit_code == ExitCode.DONE
    return file, plan


@pytest.mark.slow
@pytest.mark.parametrize("sort", [signal.SIGINT, signal.SIGTERM])
@pytest.mark.parametrize("after_s", [0.02, 0.1, 0.3, 0.6, 1.0])
def test_at_any_moment(after_s: float, sort: signal.Signals, saved: tuple[Path, Path]) -> None:
    """Whatever the moment: as if nothing had come, with a checked plan, or 130; no traceback, no orphan."""
    file, plan = saved
    words = {"plan": ("plan", file), "moves": ("moves", file, plan), "verify": ("verify", file, plan)}
    for name, given in words.items():
        case = Case(name, tuple(map(str, given)))
        ended = signalled(case, after_s, sort, f"test/{name}/{after_s}/{sort}/{os.getpid()}")
        assert outcome(ended, ExitCode.DONE, born_s=math.inf), f"{name}: {ended}"


def _started(code: str, run_name: str, *words: str | Path) -> subprocess.Popen[str]:
    process = subprocess.Popen(
        [sys.executable, "-c", code, *map(str, words)],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, MARK: run_name},
    )
    assert process.stderr is not None
    assert process.stderr.readline() == "ready\n"
    return process


@pytest.mark.slow
@pytest.mark.parametrize("sort", [signal.SIGINT, signal.SIGTERM])
def test_what_does_not_heed_is_left(sort: signal.Signals, saved: tuple[Path, Path]) -> None:
    """A library that keeps the main thread and never ends is left."""
    process = _started(BUSY.replace("{work}", LONG), "test/busy", "verify", *saved)
    process.send_signal(sort)
    out, err = process.communicate(timeout=60)
    assert process.returncode == ExitCode.INTERRUPTED
    assert err.endswith("interrupted; nothing was written\n")
    assert "Traceback" not in err
    assert out == ""


@pytest.mark.slow
@pytest.mark.parametrize("sort", [signal.SIGINT, signal.SIGTERM])
def test_a_worker_that_does_not_heed_is_ended(sort: signal.Signals) -> None:
    """A study that hears nothing is ended, and the command goes on with what it told."""
    code = (
        "import sys\n"
        "from planner.cli import signals, solving\n"
        "signals.install()\n"
        "def told(news):\n"
        "    print('ready', file=sys.stderr, flush=True)\n"
        "    return lambda seconds: ''\n"
        "print(solving.search('tests.kit.works:deaf', time_s=60.0, words=told), flush=True)\n"
        "signals.end(0)\n"
    )
    process = _started(code, "test/deaf")
    process.send_signal(sort)
    out, err = process.communicate(timeout=60)
    assert (process.returncode, out) == (0, "(1, 'interrupted')\n")
    assert err == "stopping; the best so far is kept. Ctrl-C again leaves at once.\n"


def test_before_anything_is_loaded(tmp_path: Path) -> None:
    """The handler stands before the command line's library is imported: no half-loaded module is met."""
    code = (
        "import sys, threading\n"
        "class Slow:\n"
        "    def find_spec(self, name, path=None, target=None):\n"
        f"        return {FIRST} if name == 'click' else None\n"
        "sys.meta_path.insert(0, Slow())\n"
        "from planner.cli import main\n"
        "main()\n"
    )
    process = _started(code, "test/first", "check", write_tiny(tmp_path))
    process.send_signal(signal.SIGINT)
    _, err = process.communicate(timeout=60)
    assert (process.returncode, err) == (ExitCode.INTERRUPTED, "interrupted; nothing was written\n")


def test_a_killed_command_takes_its_worker_along(tmp_path: Path) -> None:
    """Even a command that is killed outright leaves no process: its worker sees the pipe end and ends too."""
    code = (
        "import sys\n"
        "from planner.cli import group\n"
        "from planner.cli.worker import WORKER\n"
        "def hear(news):\n"
        "    print('ready', file=sys.stderr, flush=True)\n"
        "WORKER.run('tests.kit.works:deaf', watch=hear)\n"
    )
    name = f"test/killed/{os.getpid()}"
    process = _started(code, name)
    assert len(processes_of(name)) >= 2
    process.kill()
    process.communicate(timeout=60)
    until = time.monotonic() + 60.0
    while processes_of(name) and time.monotonic() < until:
        time.sleep(0.05)
    assert processes_of(name) == []


def test_a_file_that_is_being_saved_is_saved_whole(tmp_path: Path) -> None:
    """A signal waits until the file is in its place, and the last words name it."""
    code = (
        "import os, signal\n"
        "from planner.cli import signals\n"
        "signals.install()\n"
        "with signals.held('plan.json'):\n"
        "    os.kill(os.getpid(), signal.SIGINT)\n"
        "    print('saved', flush=True)\n"
        "print('gone on', flush=True)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (ExitCode.INTERRUPTED, "saved\n")
    assert done.stderr == "interrupted; plan.json was written before\n"


def test_a_solve_that_follows_a_stop_is_stopped_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever has stopped the plan need not stop what would be looked for after it as well."""
    monkeypatch.setattr(signals._now, "is_stopped", True)
    cancel = threading.Event()
    with signals.stopping(cancel):
        assert cancel.is_set()


@pytest.mark.slow
@pytest.mark.parametrize("sort", [signal.SIGINT, signal.SIGTERM])
def test_the_screen_gives_the_terminal_back(sort: signal.Signals, tmp_path: Path) -> None:
    """`edit` leaves the other screen of the terminal and its way with keys as they were."""
    ours, theirs = os.openpty()
    before = termios.tcgetattr(theirs)
    process = subprocess.Popen(
        [sys.executable, "-m", "planner.cli", "edit", str(write_tiny(tmp_path))],
        cwd=ROOT,
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        env={**os.environ, "TERM": "xterm-256color"},
    )
    shown = b""
    while b"\x1b[?1049h" not in shown:
        shown += os.read(ours, 65536)
    drain = threading.Thread(target=_drain, args=(ours, parts := [shown]), daemon=True)
    drain.start()
    process.send_signal(sort)
    process.wait(timeout=60)
    assert termios.tcgetattr(theirs) == before
    os.close(theirs)
    drain.join(timeout=60)
    os.close(ours)
    text = b"".join(parts)
    assert text.count(b"\x1b[?1049h") == text.count(b"\x1b[?1049l") == 1
    assert b"Traceback" not in text


def _drain(stream: int, parts: list[bytes]) -> None:
    while True:
        try:
            part = os.read(stream, 65536)
        except OSError:
            return
        if not part:
            return
        parts.append(part)
