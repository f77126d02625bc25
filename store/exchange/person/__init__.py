"""Everything kept of one person, for whoever asks what is kept about them."""
