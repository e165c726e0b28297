"""The schedule: building, searching and solving that put work into windows.

Why so: blocks are put into windows by one kernel (`schedule_generation`), which lists and rules feed
(`priority_rules`). A schedule is made better by its list, then a few windows at a time (`priority_search`,
`large_neighbourhood`). Blocks taken by when the time-indexed relaxation has them done are within 4 % of the
bound on 200 services at once; then blocks move in the list, then windows are put anew, twice in turn. The
exact programme (`exact`) runs last, with the windows that packing duals leave to each block. It proves small
sites; large ones keep the bound of the relaxation.

Tried and left: a search of its own that lets blocks of an undated order change places. Moving them in the
list, read by the kernel, is as good or better on each of 37 works, in as many seconds, and needs no rules of
its own.
"""
