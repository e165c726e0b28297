"""Tests of planner.solver."""
