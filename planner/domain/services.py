"""Services as frozen data."""

from __future__ import annotations

from dataclasses import dataclass

from planner.domain.resources import Demand


@dataclass(frozen=True)
class Service:
    """A workload; it runs on box ``box`` today. ``physical``: the reason it must not be a guest, or None."""

    name: str
    box: str
    demand: Demand
    physical: str | None = None
    stay_on: str | None = None
    needs: frozenset[str] = frozenset()
    zone: str = "default"
    roles: frozenset[str] = frozenset()
    restart: bool = True
    downtime_min: float | None = None
    depends_on: tuple[str, ...] = ()
    method: str = "convert"
    method_said: bool = True
    assumed: frozenset[str] = frozenset()
