"""Tests of planner.placement.packing."""
