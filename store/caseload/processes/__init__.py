"""Long work shared out among processes, in the order of the cases."""
