"""Tests of planner.inventory.editing."""
