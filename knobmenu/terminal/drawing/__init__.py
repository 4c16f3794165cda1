"""Pictures of the device in characters: pure functions, no app, nothing of a terminal library.

How a picture reaches a widget. Every function returns a `Drawing`, rows of `Run`: a text, the name of the ink it is
written in and the name of the ground under it. The names are the keys of a `Palette`; a widget turns a run into a
styled segment by looking both up, once for each pair, and keeps that. All drawings are cached by their arguments: to
draw again what has not changed costs a lookup, and a row that is the same object as before need not be shown again.

==============  ======================================================================================
`runs`          Run, Row, Drawing; framing and measuring them
`palettes`      Palette and the palettes: dark, light, high contrast, 16 colours, no colour
`forms`         Form; `form_for(display, columns, rows, manner)` chooses the form for the room at hand
`display`       `draw(display, screen, form, manner, blink)`: dot-matrix and pixel displays, and segments
`segments`      seven segments drawn as segments
`knob`          `draw_knob(...)`: angle, detent marks, press, how far a hold has come; `knob_words(...)`
`signals`       lamps and the sounder, in shape and in words
`font`          the characters' dots, drawn for this project
==============  ======================================================================================
"""
