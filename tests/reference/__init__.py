"""Physics against the reference tables, outside libraries and handbook examples."""
