"""The time grid: which work may be done in which window, and what a schedule on it is worth."""
