"""What forms are put together from, and the form made for any kind of entry."""
