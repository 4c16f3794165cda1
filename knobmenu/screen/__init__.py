"""What the display shows: a pure function from states to grids of cells."""
