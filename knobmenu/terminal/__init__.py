"""The device on the screen of a terminal: a knob to turn, a display to read, and every event kept.

=============  ==========================================================================================
`drawing`      what desk, bench and sitting draw alike; pure, without the library
`input`        the keys and what they do
`backend`      the terminal library's edge: driver, canvas, styles; all that uses its internals
`prompts`      screens in front of the others: a question, the page of keys, the list of commands
`desk`         the screen on which a device is tried: layout, panes, commands, reloading
`bench`        the screen on which the electronics are chosen
`sitting`      the screen of a participant: pages to answer, and the device with the task
`knob_screen`  what turns, presses and holds a knob on a screen, for the desk and the sitting
`app`          the Textual app
=============  ==========================================================================================
"""
