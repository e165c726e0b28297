"""What a command raises when it has to end early; `group.Commands` turns it into words and a code."""

from __future__ import annotations

from planner.cli.exit_codes import ExitCode


class RefusedError(Exception):
    """The person's input cannot be used; each line is one mistake in their words."""

    def __init__(self, *lines: str, code: ExitCode = ExitCode.BAD_INPUT) -> None:
        super().__init__("\n".join(lines))
        self.lines = lines
        self.code = code


class OwnMistakeError(Exception):
    """Our own mistake, told in a sentence: never shown as anything else."""
