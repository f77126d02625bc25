"""A file put on the disk: whole, private, over nothing else."""
