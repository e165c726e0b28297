"""What a person gets to read: each face builds plain data first, then renders it.

Nothing here prints, and nothing here knows a solver.
"""
