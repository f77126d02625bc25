"""The kinds of entry, by theme."""
