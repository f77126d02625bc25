"""A store that a passphrase opens: its key, its driver, and plain files into encrypted ones and back."""
