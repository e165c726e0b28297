"""The schedule: lists, searches and an integer programme that put work into windows, and any order at all.

Why so: a schedule is made better by its list, then a few windows at a time (`priority_search`,
`large_neighbourhood`). Blocks taken by when the shares of the time-indexed relaxation have them done are
within 4 % of the bound on 200 services at once; then blocks move in the list, then windows are put anew,
twice in turn. The whole programme (`exact`) runs last, with the windows that prices leave to each block. It
proves small sites; large ones keep the bound by shares.
"""
