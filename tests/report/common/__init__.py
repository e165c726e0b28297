"""Tests of planner.report.common."""
