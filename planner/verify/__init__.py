"""The judge: checks every plan and every step against the raw site, without a solver.

It shares no rule with what makes the plans, so that it can disagree with them.

Why so: a plan that the judge rejects is a bug of ours (exit code 70) and is never shown, neither by
``plan`` nor by ``moves``.
"""

from planner.verify.moves.replay import after_wave, simulate_today, verify_order
from planner.verify.moves.room import Seen, SimulatedRoom, Walked
from planner.verify.plan.judge import RULES, verify_plan, verify_state
from planner.verify.trial import Breach

__all__ = [
    "RULES",
    "Breach",
    "Seen",
    "SimulatedRoom",
    "Walked",
    "after_wave",
    "simulate_today",
    "verify_order",
    "verify_plan",
    "verify_state",
]
