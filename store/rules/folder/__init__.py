"""Folders of rule files: which is in force, a clinic's own versions, the signature."""
