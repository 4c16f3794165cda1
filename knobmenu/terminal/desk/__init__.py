"""The desk: a device with its knob, and the panes around it."""
