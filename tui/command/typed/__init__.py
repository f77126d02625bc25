"""What is typed after a command: codes in any case, what of the list is wanted, what a shell completes."""
