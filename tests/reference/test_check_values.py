"""Every row of the table of check values that is physics, answered by our own functions."""

import pytest

from tests.reference.checks import CHECKS
from tests.reference.tables import rows

TABLE = "check_values.csv"
ROWS = {row["id"]: row for row in rows(TABLE)}
FEWEST_ROWS = 60


def label(row_id: str) -> str:
    """Test name with source and confidence, so that a failure says whom it contradicts."""
    row = ROWS.get(row_id)
    return f"{row_id} [{row['confidence']}] {row['source']}" if row else row_id


@pytest.mark.parametrize("row_id", CHECKS, ids=label)
def test_a_function_of_ours_gives_the_published_value(row_id: str) -> None:
    row = {each["id"]: each for each in rows(TABLE)}[row_id]
    tolerance = float(row["tolerance"])
    assert CHECKS[row_id]() == pytest.approx(float(row["expected"]), rel=0, abs=tolerance + 1e-9)


def test_the_rows_answered_are_in_the_table_and_at_least_sixty() -> None:
    ids = [row["id"] for row in rows(TABLE)]
    answered = [row_id for row_id in ids if row_id in CHECKS]
    assert sorted(answered) == sorted(CHECKS)
    assert len(answered) >= FEWEST_ROWS
    assert sorted(set(ids) - set(CHECKS)) == ["D07", "D08"]
