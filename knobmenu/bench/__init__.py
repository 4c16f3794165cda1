"""From a hand to counted detents: will this encoder, filter, loop and decoder count correctly?

The only home of numpy. Times are in seconds as floats; a level is 1 while its contact is closed (or is seen as closed),
whatever the voltage is. What is handed to `knobmenu.knob` is whole numbers. All chance comes from a
`numpy.random.Generator` that the caller passes in.
"""
