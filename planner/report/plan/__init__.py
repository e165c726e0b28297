"""The plan page: its data, how it is built, and its faces."""
