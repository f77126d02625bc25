"""Work on a store that may be cut short at any moment, and what has to hold afterwards."""
