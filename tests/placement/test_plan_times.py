"""The benchmark of planning times runs, and measures every aim."""

from __future__ import annotations

from tests.benchmarks.plan_times import timed
from tests.kit.sites import tiny_site


def test_every_aim_of_a_plan_is_timed() -> None:
    """The aims of a tiny site have each their seconds, which follow one another within those of the solve."""
    result, seconds = timed(tiny_site(2))
    assert result.plan is not None
    assert list(seconds) == [aim.aim for aim in result.plan.aims]
    assert all(each >= 0.0 for each in seconds.values())
    assert sum(seconds.values()) <= result.seconds
