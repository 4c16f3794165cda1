"""From contact levels to events: quadrature decoder, button timing, acceleration.

Whole numbers only, bounded states, tables as literal data: this is the code that the C engine mirrors step by step,
and the very code that the bench judges.
"""
