"""Tests of planner.ledger."""
