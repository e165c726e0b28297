"""Every number that scheduling hangs on, each with its unit and its reason; passed down, never looked up.

Where the same file is to give the same schedule on a slow machine too, a budget is work done: blocks put,
lists read, rounds, nodes. A share of the time is its ceiling only.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class ScheduleParams:
    """Budgets, shares of the time, thresholds and tolerances of scheduling."""

    puts_per_s: float = 100_000.0
    """Blocks put in a second by the serial scheme on a core of 2024: makes a share of the time work."""

    put_under_limits: float = 15.0
    """How much longer a block takes under the limits of the room, for the same reckoning."""

    slack: float = 3.0
    """How often its time such work may take before the clock ends it: for slow or busy machines."""

    spare_windows: int = 2
    """Windows after the last one of the first schedules that count in means over time."""

    searched_windows: int = 24
    """Windows in which the programme seeks any schedule, at least: half a year of one a week."""

    few_windows: int = 12
    """Windows that show what lacks, or twice what is needed at the least: small enough to solve."""

    initial_share: float = 0.1
    """Share of the time for first schedules."""

    initial_lists: int = 1500
    """Lists read for first schedules at most: more of them seldom gave another."""

    initial_refused: int = 12
    """Lists refused by the limits, with none that keeps them, after which all are built under the limits."""

    undated_puts: int = 10_000
    """Blocks put to make an order without dates quieter: a tenth of a second, for it is asked often."""

    sought_share: float = 0.25
    """Share of the time after which the programme gives up seeking any schedule: reasons take some too."""

    readings: float = 10.0
    """So often a schedule is added up from its states at the end: time is kept back for it."""

    learn_share: float = 0.03
    """Share of the time left in which packing prices are learned."""

    learn_blocks: int = 12
    """Blocks that lower the noise most, before which packing prices are learned: the others bind less."""

    windows_share: float = 0.3
    """Share of the time left for fewer windows."""

    whole_share: float = 0.4
    """Share of the time left for the exact programme of watts, with the last aim to come."""

    loud_share: float = 0.7
    """Share of the time left for the exact programme of the level: it decides most."""

    bounds_share: float = 0.3
    """Share of the time left for the bounds of single windows."""

    relaxation_share: float = 0.9
    """Share of the time left for the time-indexed relaxation: large sites have no bound without it."""

    lists_share: float = 0.1
    """Share of the time for each local search over lists."""

    neighbourhood_shares: tuple[float, float] = (0.3, 0.25)
    """Shares of the time left for the first and the second round of large neighbourhoods."""

    most_variables: int = 6000
    """Undecided block-windows above which the exact programme is not written: it would not end."""

    most_relaxed: int = 60_000
    """Undecided block-windows above which the time-indexed relaxation is left out."""

    hold: float = 1e-6
    """How much of an aim may be given up, as a share, while the next one is made better."""

    close: float = 1e-5
    """Value and bound this close, as a share, are the same."""

    spread: float = 4.0
    """How many windows a block is moved in a list, standard deviation."""

    with_needed: float = 0.5
    """How often a block moves in a list with what it needs."""

    alone: float = 0.3
    """How often a block moves alone; else two change places."""

    near_lists: int = 300
    """Lists tried near the one of the relaxation."""

    near: float = 0.3
    """How many windows the blocks of these are moved, standard deviation."""

    patience: int = 1500
    """Lists in a row without gain after which local search ends."""

    refused: int = 12
    """So many more good lists refused than taken, and lists are read under the limits, which is slow."""

    first_size: int = 4
    """Windows of the first neighbourhoods."""

    more_windows: int = 2
    """Windows that a neighbourhood gets once none gains."""

    neighbourhood_s: float = 3.0
    """Seconds for one neighbourhood at most: most end in a tenth of one."""

    least_gain: float = 1e-9
    """What counts as a gain, as a share."""

    tie: float = 1e-4
    """How much the next aim counts beside the first, as a share of it, to decide between equals."""

    most_cuts: int = 25
    """Waves that the true states may refuse in the exact programme before it is given up."""

    cell_h: float = 0.05
    """Grid to which hours are rounded down where a window is filled: that lets in more, never less."""

    cover_work: int = 8000
    """Rounds of bin cover times items at most: a price is a price at any round."""

    cover_rounds: int = 20
    """Rounds of bin cover at least."""

    window_gap: float = 1e-3
    """Gap, as a share, at which the bound of a window is good enough."""

    window_blocks: int = 200
    """Blocks above which bounds of windows are those of fractions, which come much sooner."""

    window_s: float = 1.0
    """Seconds for the bound of one window at most."""

    window_least_s: float = 0.02
    """Seconds under which no bound of a window is begun by whole numbers."""

    window_relaxed_s: float = 20.0
    """Seconds for the bound of a window by fractions: an end for what never takes so long."""

    window_spend: float = 3.0
    """How often its even share of the time left the bound of one window may take."""

    held_prices: tuple[float, ...] = (0.2, 0.35, 0.6, 1.0)
    """Prices tried for a figure that is held, as shares of the other one's mean over its own."""

    def lists_in(self, seconds: float, blocks: int) -> int:
        """Compute how many lists of so many blocks a time stands for."""
        return int(seconds * self.puts_per_s / max(1, blocks))
