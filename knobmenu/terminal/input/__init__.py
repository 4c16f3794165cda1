"""What keys mean."""
