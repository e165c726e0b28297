"""Checks of the planning model."""
