"""The terminal interface; it knows the planner, never the other way round."""
