"""Tests of planner.moves.bounds."""
