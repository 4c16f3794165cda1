"""Pictures of a device in characters and as SVG: pure functions, no app, no terminal.

Every function returns a `Drawing`, rows of `Run`: a text, the name of its ink and the name of the ground under it. The
names are the keys of a `Palette`, so one drawing serves every look. All drawings are cached by their arguments: drawing
again what has not changed costs a lookup, and a row that is the same object as before need not be shown again.

==============  ======================================================================================
`runs`          Run, Row, Drawing; the boxes that drawings stand in; how wide they are
`changes`       `list_changes(box, before, after)`: the pieces of rows that look different now
`palettes`      Palette and the palettes: dark, light, high contrast, 16 colours, no colour
`forms`         Form and how much room a display takes in each
`display`       `draw(display, screen, form, manner, blink)`: dot-matrix and pixel displays, and segments
`segments`      seven segments drawn as segments
`dots`          fields of dots as braille, quadrants and half blocks
`knob`          `draw_knob(...)`: angle, detent marks, press, progress of a hold; `describe_knob(...)`
`disc`          the knob as a shaded disc
`font`          the characters' dots, drawn for this project
`svg`           drawings at their places as one SVG document
==============  ======================================================================================

The width of a text in terminal cells is measured with Rich, as Textual does, so that both agree on every character.
"""
