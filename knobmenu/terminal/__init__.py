"""The device on the screen of a terminal: a knob to turn, a display to read, and every step kept.

Three layers, the lower ones without a terminal library:

* what is done: `held`, `trying`, `history`, `session`, `keeping` (plain classes and functions, whole milliseconds);
* how it looks: `drawing` (the device), `panes` (the words around it), `layout` (what goes where);
* the app: `driver` (keys with their releases), `widgets`, `watching`, `app`; and `plain`, the same in lines.
"""
