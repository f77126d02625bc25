"""Parts of the screens. Each paints what it is given; none reads the store."""
