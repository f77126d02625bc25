"""A clinic's rules made from an earlier shipped version: what they lack, how they take up what changed."""
