"""GPU memory from the file to the plan and its moves: two services with 8 GiB each, and a host to buy."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.domain.machines import Role
from planner.domain.plan import Outcome
from planner.moves.scheduling.request import Options as MoveOptions
from planner.moves.tracking.arranging import arrange
from planner.moves.tracking.order_in_use import OrderInUse
from planner.placement.result import Options
from planner.placement.solve import solve
from planner.verify import verify_plan
from tests.inventory.base import load_text

SITE = """\
room: {size: 4 x 3 x 2.5 m}
listeners: {desk: {distance: 2 m, target: 90 dBA}}
supply: {circuits: {left: {breaker: 16 A}}}
cooling: {cooler: {takes_out: 2 kW, power: 700 W, runs_today: [summer, winter]}}
policy: {aims: [power, cost, sound, change]}
boxes:
  oak:
    {cores: 8, memory: 32 GiB, gpu_memory: 16 GiB, disk: 1 TB, power: {idle: 400 W}, sound: 40 dB}
services:
  search: {box: oak, cpu: 0.5, memory: 2 GiB, disk: 40 GB, gpu_memory: 8 GiB}
  speech: {box: oak, cpu: 0.5, memory: 2 GiB, disk: 40 GB, gpu_memory: 8 GiB}
catalogue:
  host:
    {role: host, cores: 8, memory: 64 GiB, MEMORY disk: 2 TB, power: {idle: 30 W}, sound: 30 dB, price: 900}
windows:
  {timezone: UTC, start_date: 2027-03-01, crew: 2, weekly: [{day: saturday, from: '08:00', hours: 6 h}]}
"""


@pytest.mark.slow
@pytest.mark.parametrize(
    ("had", "hosts"),
    [
        ("gpu_memory: 16 GiB,", [["search", "speech"]]),
        ("gpu_memory: 12 GiB,", [["search"], ["speech"]]),
        ("gpu_memory: 7.5 GiB,", []),
        ("", []),
    ],
)
def test_services_share_a_host_that_has_the_gpu_memory_of_both(
    tmp_path: Path, had: str, hosts: list[list[str]]
) -> None:
    """16 of 16 GiB fit, none kept free; 16 of 12 do not, 8 do; with 7.5 or none both stay on oak."""
    site = load_text(tmp_path, SITE.replace("MEMORY", had)).site
    result = solve(site, Options(time_s=60.0))
    assert result.plan is not None
    assert result.outcome is Outcome.PROVEN
    assert verify_plan(site, result.plan) == ()
    machines = result.plan.state.machines
    assert sorted(sorted(item.services) for item in machines if item.role is Role.HOST) == hosts
    found = arrange(OrderInUse(site, result.plan.state), MoveOptions(time_s=30.0))
    assert (found.outcome, found.breaches) == (Outcome.PROVEN, ())


def test_headroom_of_gpu_memory_is_kept_free(tmp_path: Path) -> None:
    """16 GiB less 10 % are 14.4, so two hosts are bought for 8 GiB each."""
    text = SITE.replace("MEMORY", "gpu_memory: 16 GiB,").replace(
        "policy: {", "policy: {headroom: {gpu_memory: 10 %}, "
    )
    plan = solve(load_text(tmp_path, text).site, Options(time_s=60.0)).plan
    assert plan is not None
    assert [len(item.services) for item in plan.state.machines] == [1, 1]
