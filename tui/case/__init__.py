"""One case: its account, what can be done to it, its history, the screen for the patient."""
