"""A tiny inventory that is planned in a blink, and how the tests run the command."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from click.testing import CliRunner, Result

from planner.cli.group import cli

ROOT = Path(__file__).resolve().parent.parent.parent
COMMAND = (sys.executable, "-m", "planner.cli")

TINY = """\
site: {name: Two rooms, currency: EUR}
room: {size: 4 x 3 x 2.5 m, heat_loss: 60 W/K, leak: 60 m3/h}
listeners:
  desk: {distance: 2 m, target: 45 dBA}
supply:
  price: 0.3
  circuits:
    wall: {volts: 230 V, breaker: 16 A}
cooling:
  portable-ac:
    takes_out: 2.5 kW
    power: 900 W
    sound: {idle: 60 dB, loaded: 60 dB}
    runs_today: [summer, winter]
    setpoint: 24 °C
boxes:
  alder:
    cores: 4
    memory: 16 GiB
    disk: 1 TB
    power: {idle: 110 W, peak: 180 W}
    sound: {idle: 66 dB, loaded: 68 dB}
    rack_units: 2
  birch:
    cores: 4
    memory: 16 GiB
    disk: 1 TB
    power: {idle: 90 W, peak: 150 W}
    sound: {idle: 60 dB, loaded: 62 dB}
services:
  files: {box: alder, cpu: 0.4, memory: 4 GiB, disk: 300 GB}
  mail: {box: birch, cpu: 0.3, memory: 4 GiB, disk: 100 GB}
catalogue:
  quiet-host:
    role: host
    cores: 8
    memory: 64 GiB
    disks: {count: 2, size: 2 TB, raid: 1}
    power: {idle: 30 W, peak: 90 W}
    sound: {idle: 28 dB, loaded: 32 dB}
    price: 900
    hours: 4
    up_to: 1
"""


def write_tiny(folder: Path, text: str = TINY) -> Path:
    """Write the tiny inventory and give its path."""
    path = folder / "tiny.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def run(*arguments: str | Path) -> Result:
    """Run the command in this process; stdout and stderr stay apart."""
    return CliRunner().invoke(cli, [str(item) for item in arguments])


def run_apart(*arguments: str | Path, **environment: str) -> subprocess.CompletedProcess[str]:
    """Run the command in a process of its own."""
    return subprocess.run(
        [*COMMAND, *map(str, arguments)],
        cwd=ROOT,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
        check=False,
    )
