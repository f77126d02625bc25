"""A caseload file on its way into the store: known or new, written whole or not at all."""
