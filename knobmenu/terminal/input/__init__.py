"""What keys and mouse mean."""
