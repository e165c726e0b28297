"""The race in figures: a line for each side on each problem, and what it all comes to."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from tests.benchmarks.peers.race import SOON_S, Entry, Heat
from tests.benchmarks.peers.runner import SAME, STILLROOM, Run

HEAD = ("side", "objective", "bound", "gap %", "proven", "seconds", "busy s", "MiB", "known", "to ours")
FORM = "  {:<14} {:>12} {:>12} {:>8} {:>6} {:>8} {:>7} {:>6} {:>8} {:>9}  {}"
LEAST_S = 0.01
"""Shorter times than this count as this in ratios."""


def head() -> str:
    """Write the heading; 'to ours': seconds until a side has what Stillroom has after ten."""
    return FORM.format(*HEAD, "").rstrip()


def lines(heat: Heat) -> Iterator[str]:
    """List a heat's lines."""
    entry = heat.entry
    yield f"{entry.set}/{entry.name}: {entry.items} items, {entry.seconds:g} s, load {heat.load:.1f}"
    for label, ours in ours_of(heat):
        yield _line(label, ours, entry, "")
    for peer in heat.peers:
        yield _line(peer.side, peer, entry, _to_ours(heat, peer))


def ours_of(heat: Heat) -> list[tuple[str, Run]]:
    """List Stillroom's runs with their names."""
    if heat.full is heat.soon:
        return [(STILLROOM, heat.soon)]
    return [(f"{STILLROOM} {SOON_S:g}", heat.soon), (f"{STILLROOM} {heat.entry.seconds:g}", heat.full)]


def _line(label: str, done: Run, entry: Entry, to_ours: str) -> str:
    if done.skipped:
        return f"  {label:<14} skipped: {done.skipped}"
    return FORM.format(
        label,
        _figure(done.objective),
        _figure(done.bound),
        "-" if math.isinf(done.gap) else f"{100.0 * done.gap:.2f}",
        "yes" if done.proven else "no",
        f"{done.seconds:.2f}",
        f"{done.busy_s:.1f}",
        f"{done.memory_mib:.0f}",
        "-" if entry.known is None else f"{entry.known:g}",
        to_ours,
        done.note,
    ).rstrip()


def _figure(value: float) -> str:
    return "-" if math.isinf(value) else f"{value:.3f}".rstrip("0").rstrip(".")


def _to_ours(heat: Heat, peer: Run) -> str:
    if math.isinf(heat.soon.objective):
        return "-"
    seconds = peer.reached(heat.soon.objective)
    return f">{heat.entry.seconds:g}" if math.isinf(seconds) else f"{seconds:.2f}"


def summary(heats: Sequence[Heat]) -> Iterator[str]:
    """Find what the race comes to."""
    yield ""
    known = [heat for heat in heats if heat.entry.known is not None and heat.entry.optimal]
    if known:
        reached = [heat for heat in known if _excess(heat) <= 1e-6]
        proven = [heat for heat in reached if heat.full.proven]
        worst = max(known, key=_excess)
        yield (
            f"known optima: {len(known)}; proven at it {_share(len(proven), len(known))}, reached "
            f"{_share(len(reached), len(known))}; worst excess {_excess(worst):g} ({worst.entry.name})"
        )
    sites = [heat for heat in heats if heat.entry.set == "sites"]
    for heat in sites:
        gap = f"{100.0 * heat.full.gap:.2f} %" if math.isfinite(heat.full.gap) else "open"
        memory = heat.full.memory_mib
        yield f"{heat.entry.name}: gap {gap} in {heat.full.seconds:.1f} s, {memory:.0f} MiB"
    sides = list(dict.fromkeys(peer.side for heat in heats for peer in heat.peers))
    for side in sides:
        yield _against(side, heats)


def _excess(heat: Heat) -> float:
    return heat.full.objective - (heat.entry.known or 0.0)


def _share(part: int, of: int) -> str:
    return f"{part} ({100.0 * part / max(1, of):.0f} %)"


def _against(side: str, heats: Sequence[Heat]) -> str:
    """Write wins, ties and losses against a peer at equal time, who alone proved, and the mean time ratio."""
    pairs = [(heat, peer) for heat in heats for peer in heat.peers if peer.side == side and not peer.skipped]
    if not pairs:
        return f"against {side}: it ran nowhere"
    soon = [_better(heat.soon.objective, peer.at(SOON_S)) for heat, peer in pairs]
    full = [_better(heat.full.objective, peer.objective) for heat, peer in pairs]
    ours = sum(heat.full.proven and not peer.proven for heat, peer in pairs)
    theirs = sum(peer.proven and not heat.full.proven for heat, peer in pairs)
    ratios, censored = _ratios(pairs)
    return (
        f"against {side} on {len(pairs)}: at {SOON_S:g} s {_tally(soon)}, at the limit {_tally(full)} "
        f"(won/tied/lost); proven by Stillroom alone {ours}, by it alone {theirs}; "
        f"{_slower(ratios, censored)}"
    )


def _slower(ratios: Sequence[float], censored: int) -> str:
    if not ratios:
        return f"no {SOON_S:g} s answer of Stillroom's to time it against"
    mean = math.exp(math.fsum(map(math.log, ratios)) / len(ratios))
    at_least = "at least " if censored else ""
    return (
        f"it takes {at_least}{mean:.2f} times as long to Stillroom's {SOON_S:g} s answer "
        f"({censored} of {len(ratios)} never)"
    )


def _better(ours: float, theirs: float) -> int:
    if math.isinf(ours) and math.isinf(theirs):
        return 0
    slack = SAME * max(1.0, abs(min(ours, theirs)))
    return 1 if ours < theirs - slack else -1 if theirs < ours - slack else 0


def _tally(results: Sequence[int]) -> str:
    return f"{results.count(1)}/{results.count(0)}/{results.count(-1)}"


def _ratios(pairs: Sequence[tuple[Heat, Run]]) -> tuple[list[float], int]:
    """Make a peer's time to Stillroom's shorter answer over Stillroom's; the limit where it never came."""
    found, censored = [], 0
    for heat, peer in pairs:
        if math.isinf(heat.soon.objective):
            continue
        reached = peer.reached(heat.soon.objective)
        censored += math.isinf(reached)
        theirs = heat.entry.seconds if math.isinf(reached) else reached
        found.append(max(LEAST_S, theirs) / max(LEAST_S, heat.soon.reached(heat.soon.objective)))
    return found, censored


def facts(heat: Heat) -> dict[str, Any]:
    """Collect a heat as plain data."""
    entry = heat.entry
    runs = [*ours_of(heat), *((peer.side, peer) for peer in heat.peers)]
    return {
        "set": entry.set,
        "name": entry.name,
        "items": entry.items,
        "limit_s": entry.seconds,
        "known": entry.known,
        "known_optimal": entry.optimal,
        "load": heat.load,
        "sides": [
            {
                "side": label,
                "objective": _or_none(done.objective),
                "bound": _or_none(done.bound),
                "proven": done.proven,
                "seconds": done.seconds,
                "busy_s": done.busy_s,
                "memory_mib": done.memory_mib,
                "skipped": done.skipped,
                "note": done.note,
                "course": done.course,
            }
            for label, done in runs
        ],
    }


def _or_none(value: float) -> float | None:
    return value if math.isfinite(value) else None
