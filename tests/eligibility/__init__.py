"""Tests of planner.eligibility."""
