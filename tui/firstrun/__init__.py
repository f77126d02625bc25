"""The first run: what this is and is not, and a caseload of one's own."""
