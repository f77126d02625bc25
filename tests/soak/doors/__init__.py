"""The doors by which a text from outside comes in, and hostile texts put to each of them."""
