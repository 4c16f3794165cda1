"""What the display shows: a state becomes a grid of cells, and nothing else happens."""
