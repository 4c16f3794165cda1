"""Pictures as SVG text: a run, a map of errors, a capture. In all of them, up is a high pin or an open contact."""
