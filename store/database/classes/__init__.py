"""The tables as SQLModel classes."""
