"""The list and a case as known at an earlier instant."""
