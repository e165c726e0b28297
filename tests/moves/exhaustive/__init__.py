"""Tests of planner.moves.scheduling."""
