"""A case seen on one date, and the shape of what follows from it."""
