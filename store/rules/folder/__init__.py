"""Which rule files are in force, a clinic's own versions, the signature."""
