"""The file as text: YAML with the place of every value, written quantities, errors."""
