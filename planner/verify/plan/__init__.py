"""The clauses by which a plan or a single state is judged."""
