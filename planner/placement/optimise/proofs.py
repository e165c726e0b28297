"""The proofs of a solve, shown by a second road on the second core while the solve goes on.

Each aim that one run proves hands over a claim: no plan that keeps the aims before it is better by a step.
A claim that is refuted means that a run answered falsely: the better plan is taken and the solve goes on from
it without presolve. One that stays open is called proven by one solver run.

Why so: one run of a solver is no proof. The patterns' bound is added up anew as well (`solver.duality`). A
claim still open after as long as the solve took, half a minute at most, is called 'proven by one solver
run'; what was contradicted stands in the plan. A bound over a plan that the judge passed, or a value that
is not its bound, is not believed.
"""

from __future__ import annotations

import threading
import time
from dataclasses import dataclass, replace

from planner.placement.formulation import Model
from planner.placement.params import PARAMS
from planner.solver import Limits
from planner.solver.confirm import Claim, Verdict, confirm

ZERO, SUMS, PATTERNS = "a value that cannot be less", "sums alone", "prices of patterns"
"""What shows a value without any run of a solver."""


@dataclass(frozen=True)
class Pending:
    """A claim about the aim with this number, and the value reached.

    ``model``: the one it speaks of, None where it is about patterns; ``by_run``: whether a run of a solver on
    that model claimed it.
    """

    number: int
    model: Model | None
    claim: Claim
    value: float
    by_run: bool = True


class Proofs:
    """Claims being confirmed, one after the other, in a thread that ends when there are none left."""

    def __init__(self, limits: Limits, cancel: threading.Event | None, patience_s: float = 0.0) -> None:
        self._limits, self._cancel, self._patience_s = limits, cancel, patience_s
        self._began = time.monotonic()
        self._waiting: list[Pending] = []
        self._done: dict[int, tuple[Pending, Verdict]] = {}
        self._lock, self._halt = threading.Lock(), threading.Event()
        self._thread, self._idle = threading.Thread(), True

    def submit(self, pending: Pending) -> None:
        """Have a claim confirmed; one about the same aim that still waits is replaced."""
        with self._lock:
            self._waiting = [item for item in self._waiting if item.number != pending.number]
            self._waiting.append(pending)
            if self._idle:
                self._idle = False
                self._thread = threading.Thread(target=self._work, name="second road", daemon=True)
                self._thread.start()

    def settle(self, deadline: float) -> dict[int, tuple[Pending, Verdict]]:
        """Wait for what is still open, within patience and the time there is, and look up all verdicts."""
        now, params = time.monotonic(), PARAMS.proofs
        wanted_s = max(self._patience_s, params.patience_share * (now - self._began))
        patience_s = min(params.most_patience_s, wanted_s)
        until = min(deadline, now + patience_s)
        while not self._idle and time.monotonic() < until and not self._is_cancelled():
            time.sleep(PARAMS.proofs.tick_s)
        self.stop()
        return dict(self._done)

    def forget(self, first: int) -> None:
        """Drop what is known of the aims from this number on: they are pursued anew."""
        self.stop()
        self._done = {number: found for number, found in self._done.items() if number < first}

    def stop(self) -> None:
        """End the thread; what was not confirmed by now stays open."""
        self._halt.set()
        if self._thread.ident is not None:
            self._thread.join()
        self._halt, self._waiting, self._idle = threading.Event(), [], True

    def _is_cancelled(self) -> bool:
        return self._cancel is not None and self._cancel.is_set()

    def _work(self) -> None:
        halt = self._halt
        while not halt.is_set():
            with self._lock:
                if not self._waiting:
                    self._idle = True
                    return
                pending = self._waiting.pop(0)
            time_s, nodes = PARAMS.proofs.claim_s, PARAMS.proofs.claim_nodes
            limits = replace(self._limits, time_s=time_s, nodes=nodes, target=None, below=None)
            verdict = confirm(pending.claim, limits, halt)
            if not halt.is_set() or not verdict.is_open:
                self._done[pending.number] = (pending, verdict)


def road_of(verdict: Verdict) -> str:
    """Look up the words for what showed a claim; empty where nothing did."""
    return str(verdict.shown_by) if verdict.shown_by is not None else ""
