"""A caseload that a passphrase opens: asked for when it is opened, and again after a long pause."""
