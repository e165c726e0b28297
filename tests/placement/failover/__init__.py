"""Tests of planner.placement.failover."""
