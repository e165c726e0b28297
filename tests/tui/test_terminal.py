"""A run in a real terminal, typed key by key through a multiplexer, with the real solver."""

from __future__ import annotations

import os
import shlex
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.tui.screens import SMALL, copy_of

ROOT = Path(__file__).resolve().parents[2]
PATIENCE_S = 90.0
MULTIPLEXER = shutil.which("tmux")
pytestmark = pytest.mark.skipif(MULTIPLEXER is None, reason="needs a terminal multiplexer")


class Terminal:
    """A terminal of 100 x 30 with the interface in it."""

    def __init__(self, file: Path, folder: Path) -> None:
        self.socket = str(folder / "socket")
        run = shlex.join([sys.executable, "-m", "planner.cli", "edit", str(file)])
        command = f"cd {shlex.quote(str(ROOT))} && {run}; echo left with $?; sleep 60"
        self.call("-f", os.devnull, "new-session", "-d", "-x", "100", "-y", "30", command)

    def call(self, *arguments: str) -> str:
        """Ask the multiplexer for something."""
        assert MULTIPLEXER is not None
        whole = [MULTIPLEXER, "-S", self.socket, *arguments]
        return subprocess.run(whole, check=True, capture_output=True, text=True).stdout

    def screen(self) -> str:
        """Say what is on the screen."""
        return self.call("capture-pane", "-p")

    def wait_for(self, text: str) -> str:
        """Wait until a text is on the screen."""
        deadline = time.monotonic() + PATIENCE_S
        while time.monotonic() < deadline:
            screen = self.screen()
            if text in screen:
                return screen
            time.sleep(0.1)
        raise AssertionError(f"never saw {text!r}:\n{self.screen()}")

    def press(self, *keys: str) -> None:
        """Press keys one after the other."""
        for key in keys:
            self.call("send-keys", key)
            time.sleep(0.1)

    def type(self, text: str) -> None:
        """Type a text."""
        self.call("send-keys", "-l", text)


@pytest.fixture
def terminal(tmp_path: Path) -> Iterator[tuple[Terminal, Path]]:
    """A terminal on a copy of the small office."""
    file = copy_of(tmp_path)
    made = Terminal(file, tmp_path)
    yield made, file
    subprocess.run([str(MULTIPLEXER), "-S", made.socket, "kill-server"], check=False, capture_output=True)


@pytest.mark.slow
def test_one_service_made_physical_is_one_line_of_the_file(terminal: tuple[Terminal, Path]) -> None:
    """Open, change, watch the plan change, undo another change, save, leave: one line differs."""
    screen, file = terminal
    before = screen.wait_for("✔ proven")
    assert "map-tiles*         birch     ◈ virtualise" in before
    screen.press("/")
    screen.type("map-tiles")
    screen.press("Enter", "p")
    screen.wait_for("stay_physical")
    screen.type("its scanner card fits no guest")
    screen.press("Enter")
    screen.wait_for("✔ map-tiles stays physical")
    screen.wait_for("(was virtualise)")
    screen.wait_for("✔ proven")
    screen.press("p")
    screen.wait_for("Enter take over")
    screen.type(", nor any other")
    screen.press("Enter")
    screen.wait_for("nor any other")
    screen.press("u")
    screen.wait_for("↶ undone: map-tiles stays physical")
    screen.press("s")
    screen.wait_for("✔ saved small-office.yaml")
    screen.press("q")
    screen.wait_for("left with 0")
    old, new = SMALL.read_text("utf-8").splitlines(), file.read_text("utf-8").splitlines()
    changed = [(a, b) for a, b in zip(old, new, strict=True) if a != b]
    assert len(changed) == 1
    assert changed[0][1].endswith(", stay_physical: its scanner card fits no guest}")


def test_a_terminal_that_goes_away_loses_nothing(terminal: tuple[Terminal, Path]) -> None:
    """What was not saved stands beside the file, and the file is as it was."""
    screen, file = terminal
    screen.wait_for("✔ proven")
    screen.press("p")
    screen.wait_for("stay_physical")
    screen.type("its card")
    screen.press("Enter")
    screen.wait_for("✔ directory-1 stays physical")
    screen.call("kill-session")
    beside = file.with_name("small-office-mine.yaml")
    deadline = time.monotonic() + PATIENCE_S
    while not beside.is_file() and time.monotonic() < deadline:
        time.sleep(0.1)
    assert "stay_physical: its card}" in beside.read_text("utf-8")
    assert file.read_text("utf-8") == SMALL.read_text("utf-8")
