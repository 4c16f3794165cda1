"""Compare two designs: device, settings, entries, words, costs and findings."""
