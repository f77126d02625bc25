"""The list as it was last judged, kept beside the store so that it stands before any rule is read."""
