"""Behaviour of the physics functions: properties that must always hold, and refusals."""
