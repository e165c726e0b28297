"""The terminal interface; it knows the planner, never the other way round.

Why so: the screen plans from the last plan (`reoptimise.solve_again`): an edit gives a plan that differs
only where it must. ``plan --again`` does the same from a saved plan, and a test holds the two together.

Why so: the screen opens without the solver. Types of the planner are named for the checker only and loaded
once the first rows are drawn; tables are filled between keys, and pages draw only the lines in sight. A
test holds the work to a limit.
"""
