"""Design files: the only part that opens them.

`load` and `save` work on files; a name that ends in ``.json`` means JSON, any other TOML. `knobmenu.files.toml` and
`knobmenu.files.json` work on texts. Every failure is a `knobmenu.errors.DesignError` that states the file, the line if
it is known, and the path inside the design.
"""

from knobmenu.files.disk import load, save
from knobmenu.files.starter import write_starter

__all__ = ["load", "save", "write_starter"]
