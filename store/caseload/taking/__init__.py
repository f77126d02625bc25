"""A caseload file taken in: known or new, written whole or not at all."""
