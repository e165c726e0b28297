"""Fuzzers: programs that feed mutated files to a reader by structure-aware mutation, and count what dies."""
