"""Every command that README and DEVELOPERS say is run by hand runs: once each, as small as it can be."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
RUNS = {
    "tests.benchmarks.letting_go --sizes 20": "20 services, cancelled after",
    "tests.benchmarks.moves inventories/two-hosts.yaml --seconds 5": "windows",
    "tests.benchmarks.placement --set sites --sizes 12 --seconds 2 --peers first-fit": "first-fit",
    "tests.benchmarks.plan_times inventories/two-hosts.yaml": "stillroom --help",
    "tests.benchmarks.replan --most 1": "first plan:",
    "tests.benchmarks.signals schema --moments 1": "schema",
    "tests.fuzz.inventories --count 5": "0 crashes",
    "tests.fuzz.orders --count 5": "0 crashes",
    "tests.fuzz.planning --count 2": "0 crashes",
    "tests.fuzz.plans --count 5": "0 crashes",
    "tests.fuzz.progress --count 5": "0 crashes",
    "tests.fuzz.samples --count 5": "0 crashes",
    "tests.moves.every_order --count 3": "seeds that differ: []",
    "tests.oracles.sites --count 2": "0 disagreements",
    "tests.oracles.states --count 10": "0 disagreements",
    "tests.tui.opening inventories/two-hosts.yaml": ".",
}


@pytest.mark.slow
@pytest.mark.parametrize("command", RUNS)
def test_it_runs(command: str) -> None:
    """It ends with 0, complains of nothing and prints its figures."""
    done = subprocess.run(
        [sys.executable, "-m", *command.split()], cwd=ROOT, capture_output=True, text=True, timeout=300
    )
    assert done.returncode == 0, done.stderr
    assert RUNS[command] in done.stdout


def test_all_that_is_named_is_run() -> None:
    """README and DEVELOPERS name no command of the tests that is not run here; `tests.check` runs this."""
    said = "".join((ROOT / name).read_text(encoding="utf-8") for name in ("README.md", "DEVELOPERS.md"))
    named = set(re.findall(r"tests\.(?:benchmarks|oracles|fuzz|moves|tui)\.\w+", said))
    assert named <= {command.split()[0] for command in RUNS}
