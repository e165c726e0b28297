"""Tests of the ladder and of the cheapest set beside it."""
