"""The clauses by which an order is judged, task by task."""
