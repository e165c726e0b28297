"""Tests of planner.inventory.text."""
