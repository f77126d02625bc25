"""The whole caseload: read as known at an instant, written one action a transaction."""
