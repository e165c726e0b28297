"""Why no plan can exist, as conflicts: by sums, by the cheapest repair, by what a loss of hosts lacks."""
