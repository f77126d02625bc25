"""A store that a passphrase opens."""
