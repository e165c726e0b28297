"""Tests of planner.moves.tracking."""
