"""What a logic analyser recorded of a real knob: read, measured, and sent through any reader and decoder."""
