"""Long trials: what is done to a store many times over, and what must hold each time."""
