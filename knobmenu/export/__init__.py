"""What leaves the desk: the spec of a design, its schema, and drawings of the machine."""
