"""What no schedule can beat: packing duals, time windows, per-window bounds, the time-indexed relaxation.

Why so: a schedule's bounds come without big models. A price is a value for each block and the most of it
that a window holds (`packing_duals`): hours are one, column generation gives others (two moves of 1.8 h do
not share an evening). Prices with what is before and after a block give its first and last window
(`time_windows`); a floor is the least that a figure can be after a window (`per_window`). Each is valid at
any round and any stop; the tests hold them against all schedules of 100 works.
"""
