"""Tests of planner.moves.figures."""
