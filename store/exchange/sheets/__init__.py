"""A clinic's own spreadsheet: understood column by column, taken row by row, never guessed."""
