"""The passphrase, asked for on a screen."""
