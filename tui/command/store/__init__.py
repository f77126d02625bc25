"""Commands about a store as a whole: in, out, copies, keys, and whether it is sound."""
