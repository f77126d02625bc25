"""Between a screen and the rest: opening a store, the door to it, keys, a sentence on its own."""
