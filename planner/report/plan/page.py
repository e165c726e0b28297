"""The plan page as plain data: what every face of a plan shows, computed once.

``assumed``, ``before_assumed`` and ``after_assumed`` say that figures rest on something nobody measured or
declared. A level of None means that nothing sounds.
"""

from __future__ import annotations

from dataclasses import dataclass

from planner.report.common.entries import AssumedEntry, CautionEntry


@dataclass(frozen=True)
class VerdictEntry:
    """What happens to a service; ``reason`` says what holds it where it is, or why it moves."""

    service: str
    verdict: str
    runs_today_on: str
    runs_then_on: str
    reason: str
    assumed: bool


@dataclass(frozen=True)
class BoxEntry:
    """What happens to a box, and what it carries afterwards."""

    box: str
    fate: str
    carries: tuple[str, ...]
    reason: str
    power_today_w: float
    assumed: bool


@dataclass(frozen=True)
class MachineEntry:
    """A machine that is on afterwards."""

    machine: str
    role: str
    bought: bool
    circuit: str
    carries: tuple[str, ...]


@dataclass(frozen=True)
class ShoppingEntry:
    """A line of the shopping list: sort is machine, re-use, cooling or measure."""

    what: str
    sort: str
    count: int
    price_each: float
    price: float
    hours: float
    assumed: bool


@dataclass(frozen=True)
class MeasureEntry:
    """A quieting measure that the plan takes."""

    measure: str
    target: str
    price: float
    hours: float


@dataclass(frozen=True)
class CoolingEntry:
    """What cools in a season, today and then."""

    season: str
    surroundings_c: float
    quiet: bool
    today: tuple[str, ...]
    then: tuple[str, ...]


@dataclass(frozen=True)
class ListenerEntry:
    """The level at a listener in its loudest quiet season; ``met`` is None where there is no target.

    ``background_dba`` is what is heard there with the room silent, where it is known.
    """

    listener: str
    target_dba: float | None
    before_dba: float | None
    after_dba: float | None
    leading_before: str
    leading_after: str
    met: bool | None
    background_dba: float | None
    before_assumed: bool
    after_assumed: bool


@dataclass(frozen=True)
class FigureEntry:
    """One figure before and after; ``limit`` is what it must not pass, where there is such a thing."""

    figure: str
    of: str
    unit: str
    before: float | None
    after: float | None
    before_assumed: bool
    after_assumed: bool
    limit: float | None = None


@dataclass(frozen=True)
class SavedEntry:
    """What one stage of the plan saves: level drops in dB by listener, watts, kWh and money a year."""

    stage: str
    level_drop_db: tuple[tuple[str, float | None], ...]
    power_w: float
    heat_w: float
    kwh_a_year: float
    money_a_year: float


@dataclass(frozen=True)
class Payback:
    """What the plan costs against what it saves; ``years`` is None where it never pays back."""

    outlay: float
    hours: float
    labour: float
    total: float
    money_saved_a_year: float
    years: float | None
    assumed: bool


@dataclass(frozen=True)
class ProofEntry:
    """How good the plan is for one aim: value, proven bound and the gap between them.

    ``confirmed_by``: what shows a proof beside the run that found it; null where it rests on that run alone.
    """

    aim: str
    means: str
    unit: str
    value: float | None
    bound: float | None
    gap: float | None
    proven: bool
    confirmed_by: str | None


@dataclass(frozen=True)
class HearingEntry:
    """How sure the level then is, and what is heard at a listener in all.

    ``low_dba`` to ``high_dba`` holds 90 % of cases. ``probability`` is that of meeting the target,
    ``confidence`` what was asked for. ``bands_db`` are octaves from 63 Hz, unweighted; ``total_*`` hold the
    background. ``criterion`` is the use that ``good_enough`` judges; ``offset_db`` comes from a reading.
    """

    listener: str
    low_dba: float | None
    high_dba: float | None
    probability: float | None
    confidence: float | None
    offset_db: float
    calibrated: bool
    bands_db: tuple[float | None, ...]
    nc: float
    nc_edition: str
    total_dba: float | None
    total_nc: float
    background_spectrum_assumed: bool
    use: str | None
    criterion: str | None
    good_enough: bool | None
    good_for: tuple[str, ...]
    assumed: bool


@dataclass(frozen=True)
class FailureEntry:
    """What comes when cooling fails in a season: minutes to the alarm (None: never), warmth at the end."""

    season: str
    alarm_c: float
    soonest_min: float | None
    minutes: float | None
    latest_min: float | None
    end_c: float | None
    assumed: bool


@dataclass(frozen=True)
class InletEntry:
    """How the air that machines breathe in a season stands to the limits of their class."""

    season: str
    equipment: str
    temperature_c: float
    dew_point_c: float | None
    recommended: bool
    allowed: bool
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class PowerNote:
    """The UPS's load and run time, None where unknown; for each circuit how many things start on it."""

    ups_load_w: float
    ups_minutes: float | None
    starts: tuple[tuple[str, int, float], ...]


@dataclass(frozen=True)
class RestartEntry:
    """What a loss of hosts means: services and the hosts they restart on, and those that stay off."""

    lost: tuple[str, ...]
    to: tuple[tuple[str, str], ...]
    stays_off: tuple[str, ...]


@dataclass(frozen=True)
class SinglePointEntry:
    """A service that no spare host brings back, and why that is accepted."""

    service: str
    runs_on: str
    reason: str


@dataclass(frozen=True)
class PlanPage:
    """Everything a person is told about a plan.

    ``contradictions``: where runs of solvers said what cannot both be; the plan rests on neither then.
    """

    site: str
    currency: str
    outcome: str
    stopped_by: str
    verdicts: tuple[VerdictEntry, ...]
    boxes: tuple[BoxEntry, ...]
    machines: tuple[MachineEntry, ...]
    restarts: tuple[RestartEntry, ...]
    single_points: tuple[SinglePointEntry, ...]
    switch_off: tuple[str, ...]
    shopping: tuple[ShoppingEntry, ...]
    measures: tuple[MeasureEntry, ...]
    cooling: tuple[CoolingEntry, ...]
    listeners: tuple[ListenerEntry, ...]
    figures: tuple[FigureEntry, ...]
    saved: tuple[SavedEntry, ...]
    hearing: tuple[HearingEntry, ...]
    failures: tuple[FailureEntry, ...]
    inlets: tuple[InletEntry, ...]
    power: PowerNote
    payback: Payback
    proof: tuple[ProofEntry, ...]
    contradictions: tuple[str, ...]
    cautions: tuple[CautionEntry, ...]
    assumed: tuple[AssumedEntry, ...]
    note: str
