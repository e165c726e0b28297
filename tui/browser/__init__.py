"""The same screen in a browser on the same machine, and nowhere else."""
