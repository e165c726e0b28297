"""How a plan is found: aims in order (lexicographic optimisation), each a question to the programme.

Why so: aims are taken in order, each held while the next improves, instead of being weighted: nobody can
say what a decibel is worth in watts.

A solve is a `Context`: an `Incumbent` (best state, aims held), a `Formulation` (the model, refined by what
packing teaches) and a `Budget` (clock, limits, what stopped it). `strategies` answers its questions.
"""
