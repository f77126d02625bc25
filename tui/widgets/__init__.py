"""What screens are put together from."""
