"""What a cell says: a number on its scale, a date, a word of a closed list; never a guess."""
