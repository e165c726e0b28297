"""Why no plan can exist: the smallest loosening that would let one, and what a loss lacks."""
