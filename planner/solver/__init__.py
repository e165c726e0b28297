"""One way to run an integer programme: written in PuLP, solved by HiGHS or CBC, ended in our own words."""

from planner.solver.program import Program
from planner.solver.run import relax, run
from planner.solver.solution import Answer, Ending, Limits

__all__ = ["Answer", "Ending", "Limits", "Program", "relax", "run"]
