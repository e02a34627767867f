"""The line of work: reading, computing and recording are joined here and nowhere else."""
