"""Exports: the spec of a design, its schema, and drawings of the machine."""
