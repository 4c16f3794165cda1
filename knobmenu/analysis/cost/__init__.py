"""What a menu costs the person who turns its knob: gestures, seconds and their order."""
