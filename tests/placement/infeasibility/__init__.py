"""Tests of planner.placement.infeasibility."""
