"""The group of commands: loads a command only when it is asked for, and turns every end into an exit code."""

from __future__ import annotations

import contextlib
import importlib
import os
import sys
from collections.abc import Mapping, Sequence
from typing import Any, TextIO

import click

from planner.cli import signals
from planner.cli.errors import OwnMistakeError, RefusedError
from planner.cli.exit_codes import ExitCode

COMMANDS = {
    "check": "List every error, warning and default of an inventory file.",
    "plan": "Plan a site: who moves where, what to buy, what it saves, how sure it is.",
    "why": "Say why a service goes where it goes, and what another machine would change.",
    "tradeoff": "Show what less noise costs in watts and money, and which plan to take.",
    "quiet": "Quiet the machines loudest first, beside the proven cheapest set of measures.",
    "moves": "Put the work of a plan in order: waves with their way back.",
    "edit": "Edit an inventory on the screen, with the plan beside each change.",
    "verify": "Judge a plan file against an inventory, without the solver.",
    "schema": "Print the JSON Schema of an inventory or of a command's output.",
}
PLACEMENT = "planner.placement.solve"
LOADS: Mapping[str, tuple[str, ...]] = {
    "plan": (PLACEMENT,),
    "why": (PLACEMENT,),
    "tradeoff": (PLACEMENT, "planner.placement.studies.pareto_front"),
    "quiet": (PLACEMENT,),
    "moves": (PLACEMENT, "planner.moves.tracking.arranging"),
}
"""The commands that solve, and what their worker loads beforehand."""

REPORT_WHERE = "please report it in the project's issue tracker, with the inventory if you can share it"
DEBUG = "STILLROOM_DEBUG"


class Commands(click.Group):
    """A group that knows its commands by name and imports one only to run it."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """List the names in the order of the work."""
        del ctx
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import the command asked for."""
        del ctx
        if cmd_name not in COMMANDS:
            return None
        command = importlib.import_module(f"planner.cli.commands.{cmd_name}").command
        assert isinstance(command, click.Command)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command asked for; where it solves, its process starts while the command is loaded."""
        if not ctx.resilient_parsing:  # as when a shell asks how a word may go on
            _begin_early(args)
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without importing any."""
        del ctx
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; whatever it raises becomes a message for people and an exit code."""
        try:
            result = super().invoke(ctx)
            sys.stdout.flush()
            return result
        except (click.exceptions.Exit, click.ClickException):
            raise
        except (KeyboardInterrupt, click.Abort):
            say(signals.last_words())
            ctx.exit(ExitCode.INTERRUPTED)
        except RefusedError as refusal:
            for text in refusal.lines:
                say(text)
            ctx.exit(refusal.code)
        except BrokenPipeError:
            _drop_stdout()
            ctx.exit(ExitCode.READER_GONE)
        except Exception as error:
            ctx.exit(internal_error(error))


def _begin_early(words: Sequence[str]) -> None:
    """Start the worker of a command that solves while the command itself is being loaded."""
    if words and words[0] in LOADS and not {"-h", "--help"} & {*words}:
        from planner.cli.worker import WORKER

        with contextlib.suppress(OSError):
            WORKER.loads = LOADS[words[0]]
            WORKER.start()


def internal_error(error: Exception) -> ExitCode:
    """Tell of a mistake of our own, with the traceback only for who asks for it."""
    if os.environ.get(DEBUG):
        import traceback

        traceback.print_exception(error)
    what = str(error) if isinstance(error, OwnMistakeError) else type(error).__name__
    say(f"stillroom made a mistake of its own ({what}); {REPORT_WHERE}.")
    if not os.environ.get(DEBUG):
        say(f"Set {DEBUG}=1 to see where it happened.")
    return ExitCode.INTERNAL_ERROR


def say(text: str) -> None:
    """Write a line for the person to stderr, free of what could steer a terminal."""
    from planner.report.common.text import clean

    with contextlib.suppress(OSError):
        click.echo(clean(text), err=True)


def _version(ctx: click.Context, param: click.Parameter, value: bool) -> None:
    del param
    if not value or ctx.resilient_parsing:
        return
    from importlib import metadata

    try:
        click.echo(f"stillroom {metadata.version('stillroom')}")
    except metadata.PackageNotFoundError:
        click.echo("stillroom, run from its sources without being installed")
    ctx.exit()


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80})
@click.option(
    "--version", is_flag=True, is_eager=True, expose_value=False, callback=_version, help="Show the version."
)
def cli() -> None:
    """Plan how a loud, hot server room becomes one that people can work beside.

    FILE is an inventory of the site. Results go to stdout, everything else to stderr.

    Exit codes: 0 done and proven, 1 no plan can exist, 2 bad usage or inventory, 3 stopped early with a
    checked plan, 4 stopped early with none, 70 a mistake of ours, 130 interrupted.
    """


def run() -> int:
    """Run the command line and give its exit code; never prints a character that a stream cannot carry."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    try:
        cli(prog_name="stillroom")
    except SystemExit as over:
        return _code_of(over)
    except OSError as error:
        say(f"the result cannot be written: {error.strerror or error}")
        _drop_stdout()
        return ExitCode.BAD_INPUT
    except Exception as error:
        return internal_error(error)
    return ExitCode.DONE


def _code_of(over: SystemExit) -> int:
    """Compute the code of an end as Python would give it to the shell."""
    if over.code is None or isinstance(over.code, int):
        return over.code or 0
    say(str(over.code))
    return 1


def flush(stream: TextIO) -> None:
    """Bring to a stream what it still holds; one that nobody reads any more has been told of already."""
    with contextlib.suppress(OSError, ValueError):
        stream.flush()


def _drop_stdout() -> None:
    from planner.cli.output import drop_stdout

    drop_stdout()
