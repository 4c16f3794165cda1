"""From contact levels to events: quadrature decoder, button timing, acceleration.

Whole numbers only, bounded states, tables as literal data: firmware can mirror this code line by line, and the bench
judges exactly this code.
"""
