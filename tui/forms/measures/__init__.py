"""Pain, range, strength and scores: typed on one line, by number or as a total."""
