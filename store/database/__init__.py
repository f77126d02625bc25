"""One SQLite file, as a rule: its schema, how it is opened, rows into entries and back."""
