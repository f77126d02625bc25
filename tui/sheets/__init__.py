"""A clinic's own spreadsheet on the screen: what its columns mean, what becomes of its rows, then written."""
