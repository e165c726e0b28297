"""Tests of planner.report.quiet."""
