"""Frozen data: the site and its parts, state, plan, order; usual practice and hazards."""
