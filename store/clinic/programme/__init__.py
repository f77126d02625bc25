"""The programme as it stands: doses, ladders, which exercise answers for pain and what it goes back to."""
