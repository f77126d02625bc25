"""A simulated clinic: true courses are drawn first, a clinician acts on the list, the list is held against the truth."""
