"""What changed between two designs, as a designer reads it: device, settings, entries, words, costs and findings."""
