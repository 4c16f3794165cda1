"""The panes of the desk, one in each module: pure functions from the session to rows of coloured text."""
