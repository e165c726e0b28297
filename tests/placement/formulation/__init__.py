"""Tests of planner.placement.formulation."""
