"""How generated tests run: the same examples each time and no clock, so that a busy machine fails nothing.

``HYPOTHESIS_PROFILE=roam`` draws new examples in every run. Checks against files that lie beside a checkout
are left out where those are missing; the end of a run says how many.
"""

from __future__ import annotations

import os

import pytest
from hypothesis import settings

settings.register_profile("steady", deadline=None, derandomize=True)
settings.register_profile("roam", deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "steady"))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say how many checks were left out because what they are held against is missing here."""
    missing = [each for each in terminalreporter.getreports("skipped") if "not beside" in str(each.longrepr)]
    if missing:
        said = f"LEFT OUT: {len(missing)} checks against published files that are not beside this checkout"
        terminalreporter.write_line(said, yellow=True, bold=True)
