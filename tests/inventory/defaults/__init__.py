"""Tests of planner.inventory.defaults."""
