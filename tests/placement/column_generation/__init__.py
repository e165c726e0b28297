"""Tests of planner.placement.column_generation."""
