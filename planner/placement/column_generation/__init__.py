"""Pools by patterns (column generation): pricing, restricted master, diving, arc-flow."""
