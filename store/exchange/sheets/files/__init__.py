"""A file of a spreadsheet: its sheets, their cells, where the headings and the rows are."""
