"""A simulated clinic: the truth is drawn first, a clinician acts on the list, both are compared."""
