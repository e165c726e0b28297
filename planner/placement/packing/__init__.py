"""Pools packed into units (vector bin packing), and the state that a solution of the programme decodes to.

Why so: the programme counts how many units of a kind are on (a pool a zone) and which items go there, not
which item on which unit. There is no symmetry and there are few variables, and all coupling (heat, sound,
money, circuits) stays exact, for it depends on counts and sums only. The pools are packed afterwards
(`packing.vector_packing`). A pool that does not pack teaches a row (`formulation.packing_cuts`); a small
one is written out unit by unit; a large one is squeezed until it packs, with the bound of the unsqueezed
answer.

Why so: which of several alike boxes is which is chosen last (`packing.reuse_matching`), so that least
moves.
"""
