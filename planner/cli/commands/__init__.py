"""The commands, a file for each; `moves` has its marks, readings and papers beside it."""
