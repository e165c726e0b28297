"""Tests of planner.moves.grid."""
