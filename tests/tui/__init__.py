"""The terminal interface and the editing it rests on."""
