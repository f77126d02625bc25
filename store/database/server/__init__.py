"""The same tables on a PostgreSQL server, for a clinic with more than one machine."""
