"""The schedule: lists, searches and an integer programme that put work into windows, and any order at all."""
