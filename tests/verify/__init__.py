"""Tests of planner.verify."""
