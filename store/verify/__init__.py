"""Whether a store is as it was written: every page, row, condition and link of it."""
