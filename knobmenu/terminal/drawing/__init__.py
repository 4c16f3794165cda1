"""What desk, bench and sitting draw alike: the rows around everything, and lamps and sounder in shape and words."""
