"""A caseload file, checked whole and taken whole or not at all."""
