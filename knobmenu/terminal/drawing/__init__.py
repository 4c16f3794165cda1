"""What the desk and the bench draw alike: rows fitted into panes, and lamps and sounder in shape and words."""
