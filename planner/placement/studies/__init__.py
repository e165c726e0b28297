"""Questions about many plans: the Pareto front, near-optimal alternatives, forced places, planning again."""
