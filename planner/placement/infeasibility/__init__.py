"""Why no plan can exist, as conflicts: the cheapest repair, and what a loss of hosts lacks."""
