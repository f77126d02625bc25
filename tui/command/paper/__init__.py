"""Commands for what is handed to somebody else: the letter, the handover sheet, what a patient takes home."""
