"""What is recorded, and what follows from it. No screen in here."""
