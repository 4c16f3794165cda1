"""The bench on the screen: the knobs of a chain to turn, and what they do to be watched.

The bench itself is `knobmenu.bench`; here is only how it is shown and worked. Nothing of this is loaded before the
screen is asked for.
"""
