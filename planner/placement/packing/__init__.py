"""Pools packed into units (vector bin packing), and the state that a solution of the programme decodes to."""
