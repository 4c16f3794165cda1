"""What the desk shows, one thing a file: pure functions from the session to rows of coloured text."""
