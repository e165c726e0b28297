"""Any order at all, where no schedule is found: exhaustive search, packed by next fit."""
