"""The words said to a patient: shipped in English, and in any language by a file of the same keys."""
