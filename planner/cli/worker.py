"""The worker process that a command solves in."""

from __future__ import annotations

import atexit

from planner.cli import signals
from planner.worker import Worker

WORKER = Worker()
atexit.register(WORKER.close)
signals.before_leaving(WORKER.kill)
