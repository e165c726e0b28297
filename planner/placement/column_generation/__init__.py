"""Pools by patterns (column generation): pricing, restricted master, diving, arc-flow.

Why so: where few items fit a host, all kinds of host are in one master. The question's programme with all
its rows stays and patterns stand beside it (`columns`). Pricing grows patterns a level at a time in numpy
sweeps: a narrow beam for most rounds, everything only to prove, and what a beam drops still bounds. Prices
are a row that holds for every answer; the programme with these rows alone is the bound
(`restricted_master`), so pricing stops as soon as no value is left between bound and relaxation. Then come
dives and neighbourhoods (`diving`), and where bound and plan still differ all patterns with a chance, over
which the whole-number programme decides. Alike items are priced as one class.

Tried and left: a bound by what still fits together (prunes a sixth, costs twice), more smoothing (fewer
rounds, dearer ones), many patterns a dive step (slower whole-number programmes). Above eight items a host
the exact pricing is too dear: squeezed pools do better there.
"""
