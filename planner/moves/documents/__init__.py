"""Papers of an order: the runbook and the calendar."""
