"""Tests of planner.report.plan."""
