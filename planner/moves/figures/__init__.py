"""Figures of the room as polynomials in what is done, and their limits."""
