"""In from files, out to files."""
