"""Tests of planner.inventory.checks."""
