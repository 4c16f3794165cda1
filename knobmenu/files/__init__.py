"""Designs in files: the one place that opens a design file.

`load` and `save` work on files, and go by the name: one that ends in ``.json`` holds JSON, any other TOML.
`knobmenu.files.toml` and `knobmenu.files.json` work on texts. Every failure is a `knobmenu.errors.DesignError` that
names the file, the line where it can be had, and the path inside the design.
"""

from knobmenu.files.disk import load, save
from knobmenu.files.starter import write_starter

__all__ = ["load", "save", "write_starter"]
