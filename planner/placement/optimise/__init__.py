"""How a plan is found: aims in order (lexicographic optimisation), each a question to the programme.

Why so: aims are taken in order, each held while the next improves, instead of being weighted: nobody can
say what a decibel is worth in watts.

Why so: a large answer is packed quickly, else asked for again in squeezed pools, and only then packed
patiently (`Answering._settle_large`). The squeezed plan is within 0.1 % and comes in seconds; the patient
packing took most of the time and often found nothing.
"""
