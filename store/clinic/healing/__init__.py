"""What heals and what it forbids: when stages open, limits in force, limits broken."""
