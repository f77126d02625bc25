"""A value supposed, and the verdict it would give; nothing is written."""
