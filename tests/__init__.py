"""Checks of the planner and of its faces."""
