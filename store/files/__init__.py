"""How a file is put on the disk: whole, for its owner alone, over nothing that it may not replace."""
