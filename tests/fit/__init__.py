"""Tests of planner.fit."""
