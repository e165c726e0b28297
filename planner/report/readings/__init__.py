"""The page of readings after waves, set against the forecast."""
