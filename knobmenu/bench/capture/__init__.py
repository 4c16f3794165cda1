"""Captures of a real knob by a logic analyser: read, measured, and replayed through any reader and decoder."""
