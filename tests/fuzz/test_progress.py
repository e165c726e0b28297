"""Mutated progress files in a number that CI bears; by hand ``python -m tests.fuzz.progress`` runs more."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from planner.moves.tasks.progress import Entry, Mark, Progress
from planner.moves.tracking.progress_file import ProgressError, dump, parsed
from planner.moves.tracking.progress_rescue import rescued
from tests.fuzz import campaign
from tests.fuzz.progress import run_one

COUNT = 250


@pytest.mark.slow
def test_a_mutated_progress_file_is_taken_or_refused_with_words() -> None:
    tally = campaign.run(run_one, range(COUNT))
    assert tally.crashes == []
    assert {*tally.counts} == {"taken", "refused"}


def test_a_file_cut_anywhere_is_never_taken_for_less_work_done() -> None:
    """Cut after any character but the closing line break it is refused, and keeps whole marks only."""
    at = datetime(2027, 3, 6, 13, 0, tzinfo=UTC)
    marks = tuple(Entry(n, Mark.DONE, (f"back up: s{n}", f"move: s{n}"), at) for n in (1, 2, 3))
    text = dump(Progress(marks))
    for length in range(len(text) - 1):
        with pytest.raises(ProgressError, match=r"yaml, (up to )?line "):
            parsed("office.progress.yaml", text[:length])
        kept = rescued(text[:length].encode()).entries
        assert kept == marks[: len(kept)]
    assert parsed("office.progress.yaml", text) == Progress(marks)
