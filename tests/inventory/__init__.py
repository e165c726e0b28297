"""The inventory file: reading, mistakes, defaults, examples."""
