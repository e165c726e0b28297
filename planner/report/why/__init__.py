"""The page of one service: where else it could go."""
