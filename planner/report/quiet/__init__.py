"""The page of quieting the machines as they stand: the ladder beside the cheapest set."""
