"""The page of the trade-off between sound, power and money."""
