"""One way to run an integer programme: written in PuLP, solved by HiGHS or CBC, ended in our own words.

Why so: HiGHS stays at 1.15.1. 1.16.0 mends the one model of which 1.15.1 called 5 the least where 4 is
possible, but gives the start back as the optimum with the value of a better point (548.75 for 442.5; 2 of
54 solves of tiny sites), and greets on stdout. The tests keep both models (``test_engine.py``).
"""

from planner.solver.program import Program
from planner.solver.run import relax, run
from planner.solver.solution import Answer, Ending, Limits

__all__ = ["Answer", "Ending", "Limits", "Program", "relax", "run"]
