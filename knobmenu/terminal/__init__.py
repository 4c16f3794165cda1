"""The device on the screen of a terminal: a knob to turn, a display to read, and every step kept.

Three layers, the lower ones without a terminal library:

* what is done: `held`, `trying`, `history`, `session`, `keeping` (plain classes and functions, whole milliseconds);
* how it looks: `drawing` (the device), `views` (the words around it), `layout` (what goes where), `showing` (all of
  it together), `picture` (the same as SVG);
* the app: `driver` (keys with their releases), `keymap` and `commands`, `canvas`, `desk`, `asking`, `watching`,
  `app`; `bench`, a screen of its own; and `plain`, the desk in lines.
"""
