"""README's figures come from its commands: every block of output is what the command really writes."""

from __future__ import annotations

import re

import pytest

from tests.cli.tiny import ROOT, run

README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCK = re.compile(r"<!-- output of: (?P<command>.+?) -->\n```\n(?P<lines>.*?)\n```", re.DOTALL)
LEFT_OUT = "..."


def blocks() -> list[tuple[str, list[str]]]:
    """List each command with the lines quoted below it."""
    return [(found["command"], found["lines"].split("\n")) for found in BLOCK.finditer(README)]


def missing_line(quoted: list[str], real: list[str]) -> str | None:
    """Write the first quoted line that is not in the real output at its place; runs must be unbroken."""
    at, free = 0, True
    for line in quoted:
        if line == LEFT_OUT:
            free = True
            continue
        places = range(at, len(real)) if free else range(at, min(at + 1, len(real)))
        found = next((place for place in places if real[place] == line), None)
        if found is None:
            return line
        at, free = found + 1, False
    return None


@pytest.mark.parametrize(("command", "quoted"), blocks(), ids=[command for command, _ in blocks()])
def test_quoted_output_is_real(command: str, quoted: list[str]) -> None:
    """No line of the tour is invented or stale."""
    first, inventory = command.split()
    result = run(first, ROOT / inventory)
    assert missing_line([LEFT_OUT, *quoted], result.stdout.splitlines()) is None


def test_there_is_a_tour() -> None:
    """The pattern above finds the blocks that are there."""
    assert {command.split()[0] for command, _ in blocks()} == {"check", "plan", "moves"}


def test_the_test_command_can_be_found() -> None:
    """What continuous integration takes from README is one line that runs all checks."""
    part = README.split("<!-- test-command -->")[1].split("<!-- end -->")[0]
    lines = [line for line in part.splitlines() if line and not line.startswith("```")]
    assert len(lines) == 1
    assert lines[0].endswith("-m tests.check")
