"""The page of an order of moves: its data, how it is built, its faces, and reading an order back."""
