"""The page of an inventory: errors, warnings, defaults, assumptions."""
