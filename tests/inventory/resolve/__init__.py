"""Tests of planner.inventory.resolve."""
