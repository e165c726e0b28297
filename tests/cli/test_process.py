"""The command as a real process: start, streams, pipes, colour and Ctrl-C."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

import pytest
from click.shell_completion import ShellComplete

from planner.cli.exit_codes import ExitCode
from planner.cli.group import cli
from planner.worker import Worker
from tests.cli.tiny import COMMAND, ROOT, run_apart, write_tiny

HEAVY = ("numpy", "pandas", "pydantic", "pulp", "highspy", "networkx", "yaml", "textual")
WAITING = """
import sys
from planner.cli import solving
from planner.placement import worker

solve, worker.SOLVE, worker.PATIENCE_S = solving.solve, "tests.kit.works:{work}", 60.0

def told(site, options, *, cancel, watch, tick):
    def hear(progress):
        print("ready", file=sys.stderr, flush=True)
        watch(progress)
    return solve(site, options, cancel=cancel, watch=hear, tick=tick)

solving.solve = told
from planner.cli import main
main()
"""


def test_help_imports_nothing_heavy() -> None:
    """`--help` has to come at once: it loads no command and none of the libraries that take their time."""
    code = (
        "import sys\n"
        "from planner.cli import main\n"
        "from planner.cli import signals\n"
        "sys.argv = ['stillroom', '--help']\n"
        "signals.before_leaving(lambda: print(sorted(set(sys.modules)), file=sys.stderr, flush=True))\n"
        "main()\n"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert "check" in done.stdout
    for name in (*HEAVY, "planner.cli.commands.plan"):
        assert f"'{name}'" not in done.stderr


@pytest.mark.slow
def test_streams_stay_apart(tmp_path: Path) -> None:
    """stdout is JSON to the last byte; what is said about the work is on stderr."""
    done = run_apart("plan", write_tiny(tmp_path), "--json")
    assert done.returncode == ExitCode.DONE
    assert json.loads(done.stdout)["format"] == "stillroom.plan"
    assert "proven" in done.stderr


@pytest.mark.slow
def test_no_colour_and_no_progress_in_a_pipe(tmp_path: Path) -> None:
    """Escape codes are for terminals only."""
    done = run_apart("plan", write_tiny(tmp_path))
    assert "\x1b" not in done.stdout + done.stderr
    assert "\r" not in done.stdout + done.stderr


def _check_into(stream: BinaryIO, path: Path) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [*COMMAND, "check", path], cwd=ROOT, stdout=stream, stderr=subprocess.PIPE, check=False
    )


def test_reader_that_leaves_is_no_mistake(tmp_path: Path) -> None:
    """When the reader of a pipe goes away, the command ends quietly."""
    reading, writing = os.pipe()
    os.close(reading)
    with os.fdopen(writing, "wb") as closed:
        done = subprocess.run(
            [*COMMAND, "check", write_tiny(tmp_path)],
            cwd=ROOT,
            stdout=closed,
            stderr=subprocess.PIPE,
            check=False,
        )
    assert done.returncode == ExitCode.READER_GONE
    assert done.stderr == b""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_full_disk_is_told(tmp_path: Path) -> None:
    """A result that cannot be written is told in a sentence."""
    with open("/dev/full", "wb") as full:
        done = subprocess.run(
            [*COMMAND, "check", write_tiny(tmp_path)],
            cwd=ROOT,
            stdout=full,
            stderr=subprocess.PIPE,
            check=False,
        )
    assert done.returncode == ExitCode.BAD_INPUT
    assert b"cannot be written" in done.stderr
    assert b"Traceback" not in done.stderr


@pytest.mark.slow
def test_streams_without_unicode(tmp_path: Path) -> None:
    """A stream that carries only ASCII gets the page with the other letters written as codes."""
    done = run_apart("plan", write_tiny(tmp_path), PYTHONIOENCODING="ascii", PYTHONUTF8="0")
    assert done.returncode == ExitCode.DONE
    assert "\\xb0C" in done.stdout


@contextmanager
def _started(path: Path, *options: str, work: str) -> Iterator[subprocess.Popen[str]]:
    """Start a command whose solve waits; what it says on stderr stands in a file beside its input."""
    code = WAITING.replace("{work}", work)
    with _said(path).open("w", encoding="utf-8") as stderr:
        job = subprocess.Popen(
            [sys.executable, "-c", code, "plan", str(path), *options],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            stderr=stderr,
            text=True,
        )
    try:
        _await_word("ready", path, job)
        yield job
    finally:
        job.kill()
        job.wait()
        if job.stdout is not None:
            job.stdout.close()


def _said(path: Path) -> Path:
    return path.with_suffix(".stderr")


def _await_word(word: str, path: Path, job: subprocess.Popen[str]) -> None:
    """Wait until a command has said a word, as long as it runs."""
    while word not in _said(path).read_text(encoding="utf-8"):
        assert job.poll() is None, _said(path).read_text(encoding="utf-8")
        time.sleep(0.02)


@pytest.mark.slow
def test_first_interrupt_keeps_the_best_plan(tmp_path: Path) -> None:
    """One Ctrl-C sets the cancel event; the plan that comes back is shown and saved."""
    target = tmp_path / "plan.json"
    path = write_tiny(tmp_path)
    with _started(path, "-o", str(target), work="solved_once_stopped") as job:
        job.send_signal(signal.SIGINT)
        out, _ = job.communicate(timeout=60)
    assert job.returncode == ExitCode.DONE, _said(path).read_text(encoding="utf-8")
    assert out.startswith("Plan for Two rooms")
    assert target.exists()


@pytest.mark.slow
def test_second_interrupt_leaves(tmp_path: Path) -> None:
    """Two Ctrl-C end a solve that does not listen, with 130 and nothing written."""
    target = tmp_path / "plan.json"
    path = write_tiny(tmp_path)
    with _started(path, "-o", str(target), work="never_stopped") as job:
        job.send_signal(signal.SIGINT)
        _await_word("stopping", path, job)
        job.send_signal(signal.SIGINT)
        out, _ = job.communicate(timeout=60)
    assert job.returncode == ExitCode.INTERRUPTED
    assert out == ""
    assert not target.exists()


def _in_terminal(*arguments: str | Path, command: tuple[str, ...] = COMMAND, **environment: str) -> bytes:
    import pty

    main_end, child_end = pty.openpty()
    job = subprocess.Popen(
        [*command, *map(str, arguments)],
        cwd=ROOT,
        stdout=child_end,
        stderr=child_end,
        env={**os.environ, "TERM": "xterm", **environment},
    )
    os.close(child_end)
    parts: list[bytes] = []
    while True:
        try:
            part = os.read(main_end, 65536)
        except OSError:
            break
        if not part:
            break
        parts.append(part)
    job.wait(timeout=60)
    os.close(main_end)
    return b"".join(parts)


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal")
def test_progress_on_a_terminal(tmp_path: Path) -> None:
    """While the solver works, a terminal shows aim, best, bound and gap in a line that is wiped."""
    code = (
        "from planner.placement import worker\n"
        "worker.SOLVE = 'tests.kit.works:solved_slowly'\n"
        "from planner.cli import main\n"
        "main()\n"
    )
    shown = _in_terminal("plan", write_tiny(tmp_path), command=(sys.executable, "-c", code))
    assert b"\r\x1b[Ksound: best 3, bound 1, gap 2, " in shown
    assert b"\r\x1b[Kproven" in shown


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal")
def test_colour_on_a_terminal_unless_told_otherwise(tmp_path: Path) -> None:
    """On a terminal titles are bold; NO_COLOR, --plain and TERM=dumb take that away."""
    path = write_tiny(tmp_path)
    assert b"\x1b[" in _in_terminal("check", path, NO_COLOR="")
    assert b"\x1b[" not in _in_terminal("check", path, NO_COLOR="1")
    assert b"\x1b[" not in _in_terminal("check", path, "--plain", NO_COLOR="")
    assert b"\x1b[" not in _in_terminal("check", path, TERM="dumb", NO_COLOR="")


def test_a_word_that_is_completed_starts_no_worker(monkeypatch: pytest.MonkeyPatch) -> None:
    """A shell that asks how a command line may go on gets its answer, and no process is started for it."""
    started: list[Worker] = []
    monkeypatch.setattr(Worker, "start", started.append)
    for words in (["plan"], ["why"], ["moves", "site.yaml"], ["tradeoff"], ["quiet"]):
        offered = ShellComplete(cli, {}, "stillroom", "_STILLROOM_COMPLETE").get_completions(words, "--")
        assert "--json" in {item.value for item in offered}
    assert started == []
