"""Tests of planner.moves.tasks."""
