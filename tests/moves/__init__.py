"""Tests of the moves."""
