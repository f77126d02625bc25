"""The list as last judged, kept beside the store: it stands before any rule is read."""
