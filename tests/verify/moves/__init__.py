"""Tests of planner.verify.moves."""
