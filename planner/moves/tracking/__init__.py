"""An order in use: what is done, what was read, and what explains a difference to the forecast."""
