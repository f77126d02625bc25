"""The application, its help, and where each screen lies."""
