"""How a plan is found: aims in order (lexicographic optimisation), each a question to the programme."""
