"""A period counted, and changed rules tried on the recorded history."""
