"""Plain text, JSON and pages."""
