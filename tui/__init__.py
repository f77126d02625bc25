"""What the clinician sees and presses."""
