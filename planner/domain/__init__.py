"""The words of the trade as frozen data: site, state, plan, order; usual practice and hazards."""
