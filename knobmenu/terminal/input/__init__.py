"""The meaning of keys."""
