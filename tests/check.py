"""The one check command: ``python -m tests.check`` runs every check and stops at the first that fails.

``--quick`` leaves out the tests marked slow: those that solve many sites, or drive a screen or a process.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
STEPS = (
    ("style", ("ruff", "check", ".")),
    ("layout", ("ruff", "format", "--check", ".")),
    ("types", ("mypy",)),
    ("walls", ("importlinter.cli", "--no-cache")),
    ("tests", ("pytest", "-n", "3")),  # on two cores: some tests wait
)


def command_for(step: tuple[str, ...]) -> list[str]:
    """Build the command line of a step, run by this very interpreter so that its environment counts."""
    if step[0] == "importlinter.cli":
        code = "import sys; from importlinter.cli import lint_imports_command as run; sys.exit(run())"
        return [sys.executable, "-c", code, *step[1:]]
    return [sys.executable, "-m", *step]


def main() -> int:
    """Run all steps; return the first failing exit code, or 0."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="leave out the tests marked slow")
    quick = parser.parse_args().quick
    for name, step in STEPS:
        if quick and name == "tests":
            step = (*step, "-m", "not slow")
        print(f"== {name}: {' '.join(step)}", flush=True)
        code = subprocess.run(command_for(step), cwd=ROOT, check=False).returncode
        if code:
            print(f"== {name} failed", flush=True)
            return code
    print("== all checks passed", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
