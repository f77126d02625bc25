"""One SQLite file: its schema, how it is opened, rows into entries and back."""
