"""Ways back that later waves shut: a box kept for rollback that the room could no longer bear switched on.

Why so: a way back that a later wave shuts is said, not forbidden. On a tight circuit the old box has to
stay off before the next machine can start at all; the note names the wave to take back first.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from planner.domain.order import Sort
from planner.domain.state import State
from planner.moves.tasks.limits import Strain, strains, worse_than
from planner.moves.tasks.states import Moment
from planner.moves.tasks.wave import Wave, baseline
from planner.moves.tasks.work_packages import Work

OF_THE_ROOM = frozenset({"heat", "circuit", "start"})
Base = dict[tuple[str, str], float]


def shut_ways_back(work: Work, waves: Sequence[Wave], first: int = 1) -> Iterator[str]:
    """Say which boxes could not come on again by themselves, from wave ``first`` on, and why.

    A box is switched on with all that ran on it; cooling that runs today may run again beside what runs.
    What this asks of a circuit or of the cooling beyond today and the target is in the way.
    """
    base, held, said = baseline(work), dict[str, None](), set[str]()
    for wave in waves:
        for task in wave.tasks:
            if task.sort is Sort.HOLD:
                held[task.subject] = None
            elif task.sort in (Sort.REUSE, Sort.RETIRE):
                held.pop(task.subject, None)
        if wave.number < first or not _broken(work, base, wave.state_after, held):
            continue
        for box in held:
            found = _broken(work, base, wave.state_after, [box])
            if found and box not in said:
                said.add(box)
                why = f"{box} cannot come on again by itself: {found[0].text}"
                yield (
                    f"Once wave {wave.number} is done, {why}. Take wave {wave.number} back first, "
                    f"or wait with it until {box} is no longer kept."
                )


def _broken(work: Work, base: Base, state: State, boxes: Iterable[str]) -> list[Strain]:
    """Find what breaks with some boxes on again, under the cooling that bears it best."""
    today, site = work.change.today, work.change.site
    again = tuple(machine for machine in today.machines if machine.name in {*boxes})
    both = {season: names | today.cooling[season] for season, names in state.cooling.items()}
    found = []
    for cooling in (state.cooling, both):
        now = Moment(replace(state, machines=(*state.machines, *again), cooling=cooling), 0)
        over = worse_than(base, strains(site, now))
        found.append([item for item in over if item.rule in OF_THE_ROOM])
    return min(found, key=len)
