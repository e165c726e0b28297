"""Every number that scheduling hangs on, each with its unit and its reason; passed down, never looked up.

Where the same file is to give the same schedule on a slow machine too, a budget is work done: blocks put,
lists read, rounds. The clock is its ceiling only.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class ScheduleParams:
    """Budgets, shares, thresholds and tolerances; a share is one of the time left, or says so."""

    # Work by lists
    puts_per_s: float = 130_000.0  # blocks put by the serial scheme on a core of 2024: makes seconds work
    put_under_limits: float = 8.0  # how much longer a block takes under the limits of the room
    slack: float = 3.0  # how often its time such work may take before the clock ends it
    initial_share: float = 0.1  # of all the time, for first schedules
    initial_lists: int = 1500  # for first schedules at most: more of them seldom gave another
    initial_refused: int = 12  # lists refused, none kept: then all are read under the limits
    noise_h: tuple[float, ...] = (0.0, 3.0, 10.0)  # chance mixed into urgencies, beside hours of work
    undated_puts: int = 10_000  # blocks, to make an undated order quieter: 0.1 s, for it is asked often
    lists_share: float = 0.1  # of all the time, for each local search
    patience: int = 1500  # lists in a row without gain after which local search ends
    refused: int = 12  # more good lists refused than taken: then lists are read under the limits
    spread: float = 4.0  # windows by which a block is moved in a list, standard deviation
    with_needed: float = 0.5  # how often a block moves with what it needs
    alone: float = 0.3  # how often it moves alone; else two change places
    near_lists: int = 300  # lists tried near the one of the relaxation
    near: float = 0.3  # windows by which the blocks of these are moved, standard deviation

    # Large neighbourhoods
    neighbourhood_shares: tuple[float, float] = (0.3, 0.25)  # for the first and the second round
    first_size: int = 4  # windows of the first ones
    more_windows: int = 2  # windows that they get once none gains
    neighbourhood_nodes: int = 1000  # of the search tree for one at most: most are proven in a tenth of them
    neighbourhood_s: float = 3.0  # at which the clock ends one
    least_gain: float = 1e-9  # what counts as a gain, as a share
    tie: float = 1e-4  # weight of the next aim, as a share of the first, to decide between equals

    # The exact programme and its turn
    windows_share: float = 0.3  # for fewer windows
    loud_share: float = 0.7  # for the level, which decides most
    whole_share: float = 0.4  # for watts, with the last aim to come
    most_variables: int = 6000  # undecided block-windows above which it is not written: it would not end
    most_cuts: int = 25  # waves that the true states may refuse before it is given up
    hold: float = 1e-6  # what an aim may give up, as a share, while the next one is made better
    close: float = 1e-5  # value and bound this close, as a share, are the same
    readings: float = 10.0  # times that adding up from the states takes, kept back at the end

    # Where no schedule is found
    sought_share: float = 0.25  # of all the time, to seek any schedule: reasons take some too
    searched_windows: int = 24  # in which it is sought at least: half a year of one a week
    few_windows: int = 12  # that show what lacks, or twice what is needed: small enough to solve
    spare_windows: int = 2  # after the last one of the first schedules, counted in means over time

    # Packing duals
    learn_share: float = 0.03  # for prices
    learn_blocks: int = 12  # that lower the noise most, before which prices are learned: others bind less
    cover_work: int = 8000  # rounds times items at most: a price is a price at any round
    cover_rounds: int = 20  # at least
    cell_h: float = 0.05  # to which hours are rounded down in a window: that lets in more, never less

    # Per-window bounds and the time-indexed relaxation
    bounds_share: float = 0.3  # for the bounds of single windows
    window_gap: float = 1e-3  # as a share, at which such a bound is good enough
    window_blocks: int = 200  # above which they are those of fractions, which come much sooner
    window_s: float = 1.0  # for one by whole numbers at most
    window_least_s: float = 0.02  # under which none by whole numbers is begun
    window_relaxed_s: float = 20.0  # for one by fractions: an end for what never takes so long
    window_spend: float = 3.0  # how often its even share of the time left one may take
    relaxation_share: float = 0.9  # for the relaxation: large sites have no bound without it
    most_relaxed: int = 60_000  # undecided block-windows above which it is left out
    held_prices: tuple[float, ...] = (0.2, 0.35, 0.6, 1.0)  # of what is held, in the other figure's means

    # Any order at all (`tracking.order_in_use`)
    any_share: float = 0.3  # of all the time, before the scheduler solves programmes
    anyhow_share: float = 0.85  # of all the time, at the end of which it stops: reasons take some
    least_s: float = 3.0  # left at least for a schedule, or for reasons

    def lists_in(self, seconds: float, blocks: int) -> int:
        """Compute how many lists of so many blocks a time stands for."""
        return int(seconds * self.puts_per_s / max(1, blocks))


PARAMS = ScheduleParams()
"""The numbers in use."""
