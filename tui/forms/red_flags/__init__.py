"""The red-flag list, the rows it is made of, and the one question that opens it."""
