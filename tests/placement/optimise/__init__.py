"""Tests of planner.placement.optimise."""
