"""Tests of planner.verify.plan."""
