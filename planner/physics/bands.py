"""The eight octave bands used everywhere, their A-weighting (IEC 61672-1), and tables that stop at six."""

from collections.abc import Sequence
from typing import TypeAlias

Bands: TypeAlias = tuple[float, ...]
"""Eight values, one for each frequency of `OCTAVE_HZ`, in that order."""

OCTAVE_HZ: Bands = (63.0, 125.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0, 8000.0)
"""Nominal octave band centres in Hz (IEC 61260)."""

A_WEIGHTING_DB: Bands = (-26.2, -16.1, -8.6, -3.2, 0.0, 1.2, 1.0, -1.1)
"""A-weighting in dB at `OCTAVE_HZ`: nominal table of IEC 61672-1.

Not the analytic curve, which is up to 0.13 dB apart in these octaves.
"""

MASS_LAW_DB_PER_OCTAVE = 6.0
"""Fall of transmission loss for each octave downwards, in dB (mass law)."""

TABLE_BANDS = 6
"""Handbook tables give the six octaves 125 Hz to 4 kHz."""


def require_bands(name: str, bands: Sequence[float]) -> Bands:
    """Return `bands` as a tuple if there are eight.

    Raises
    ------
    ValueError
        If there are not exactly eight values.

    Source: the octaves of `OCTAVE_HZ`, a convention of the planner.
    """
    if len(bands) != len(OCTAVE_HZ):
        raise ValueError(f"{name} needs 8 octave values, 63 Hz to 8 kHz, not {len(bands)}")
    return tuple(bands)


def extend_absorption(six: Sequence[float]) -> Bands:
    """Absorption coefficients at eight octaves from a table's six (125 Hz to 4 kHz).

    The 63 Hz value is assumed equal to 125 Hz, the 8 kHz value equal to 4 kHz.

    Raises
    ------
    ValueError
        If there are not six values, or one lies outside 0 to 1.

    Source: table layout of the handbooks; the extension is an assumption.
    """
    _require_six(six)
    if any(not 0.0 <= alpha <= 1.0 for alpha in six):
        raise ValueError(f"absorption coefficients lie between 0 and 1, not {tuple(six)}")
    return (six[0], *six, six[-1])


def extend_transmission_loss(six: Sequence[float]) -> Bands:
    """Transmission loss in dB at eight octaves from a table's six (125 Hz to 4 kHz).

    The 63 Hz value is assumed 6 dB under 125 Hz (mass law), not below zero; the 8 kHz value equal to 4 kHz.

    Raises
    ------
    ValueError
        If there are not six values.

    Source: mass law; no measured 63 Hz value was found, so the extension is an assumption.
    """
    _require_six(six)
    return (max(0.0, six[0] - MASS_LAW_DB_PER_OCTAVE), *six, six[-1])


def _require_six(six: Sequence[float]) -> None:
    if len(six) != TABLE_BANDS:
        raise ValueError(f"a table row needs 6 octave values, 125 Hz to 4 kHz, not {len(six)}")
