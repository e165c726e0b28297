"""Tests of planner.placement.studies."""
