"""One way to run an integer programme: written in PuLP, solved by HiGHS or CBC, ended in our own words."""

from planner.milp.answers import Answer, Ending, Limits
from planner.milp.engine import relax, run
from planner.milp.program import Program

__all__ = ["Answer", "Ending", "Limits", "Program", "relax", "run"]
