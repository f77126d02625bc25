"""The home programme: doses typed, proposed and accepted."""
