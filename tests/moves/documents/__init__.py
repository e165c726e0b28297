"""Tests of planner.moves.documents."""
