"""The list as it was last judged, kept beside the store: it stands before any rule is read."""
