"""Build the API reference from the docstrings: ``python -m docs.api [FOLDER]`` writes HTML, by default to build/api.

The public names are looked up when they are first used (see `knobmenu.__init__`), so all of them are looked up here
before the library that writes the pages asks what there is.
"""

from __future__ import annotations

import sys
import warnings
from importlib.metadata import version
from pathlib import Path

import pdoc
import pdoc.render

import knobmenu

FOLDER = Path(__file__).parents[1] / "build" / "api"
"""Where the pages go unless another folder is named."""


def build(folder: Path) -> Path:
    """Write the API reference.

    Args:
        folder: Where to; it is made if it does not exist.

    Returns:
        The page that lists every public name.

    Raises:
        Warning: A public name does not resolve, or a docstring names something that does not exist.
    """
    for name in knobmenu.__all__:
        vars(knobmenu)[name] = getattr(knobmenu, name)
    pdoc.render.configure(docformat="google", show_source=False, footer_text=f"knobmenu {version('knobmenu')}")
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        # Names that only a type checker imports stay as they are written; they are still readable.
        warnings.filterwarnings("ignore", message="Error parsing type annotation")
        pdoc.pdoc("knobmenu", output_directory=folder)
    return folder / "knobmenu.html"


if __name__ == "__main__":
    print(build(Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER))
