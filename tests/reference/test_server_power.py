"""The straight line from idle to peak against published load curves, read where they lie and not copied."""

from planner.physics.power import power_w
from tests.reference.tables import outside_rows

TABLE = "specpower_load_curves.csv"
STEPS = tuple(range(0, 101, 10))


def curve(row: dict[str, str]) -> list[float]:
    """Measured watts at 0, 10, ... 100 % load."""
    return [float(row["W_idle" if step == 0 else f"W_{step}pct"]) for step in STEPS]


def worst_error_pct_of_peak(measured: list[float]) -> float:
    """Largest distance of the straight line from the measured curve, in % of peak."""
    idle, peak = measured[0], measured[-1]
    line = [power_w(idle, peak, step / 100) for step in STEPS]
    return 100 * max(abs(a - b) for a, b in zip(line, measured, strict=True)) / peak


def test_worst_error_of_each_curve_is_the_one_stated() -> None:
    table = outside_rows(TABLE)
    assert len(table) == 9
    for row in table:
        stated = float(row["linear_max_abs_err_pct_of_peak"])
        assert abs(worst_error_pct_of_peak(curve(row)) - stated) <= 0.06


def test_worst_errors_span_what_the_reference_states() -> None:
    """3.4 to 10.5 % of peak over the nine curves."""
    worst = [worst_error_pct_of_peak(curve(row)) for row in outside_rows(TABLE)]
    assert round(min(worst), 1) == 3.4
    assert round(max(worst), 1) == 10.5


def test_error_at_thirty_per_cent_load() -> None:
    """-9.5 % to +18.7 % of the actual draw, as stated."""
    errors = []
    for row in outside_rows(TABLE):
        measured = curve(row)
        errors.append(100 * (power_w(measured[0], measured[-1], 0.3) / measured[3] - 1))
    assert round(min(errors), 1) == -9.5
    assert round(max(errors), 1) == 18.7
