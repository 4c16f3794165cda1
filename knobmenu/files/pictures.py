"""Encoding of pictures in the format of their file's name."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import PurePath

FORMATS = (".svg", ".png")
"""The extensions of supported pictures."""

_MONOSPACED = (
    *("DejaVu Sans Mono", "Liberation Mono", "Noto Sans Mono", "Ubuntu Mono", "FreeMono", "Nimbus Mono PS"),
    *("Menlo", "Monaco", "Consolas", "Courier New", "Courier"),
)
"""Monospaced fonts of common systems. The renderer does not ask the system which of them `monospace` is, and draws no
letters where the one that it takes it for is not installed."""

_STYLE = f'[font-family="monospace"] {{ font-family: {", ".join(map(repr, _MONOSPACED))}, monospace }}'


def find_picture_problem(name: str) -> str:
    """Explain why a picture cannot be written under a name; empty if it can."""
    ending = PurePath(name.strip()).suffix.lower()
    if ending not in FORMATS:
        return f'expected a name that ends in .svg or .png, got "{PurePath(name.strip()).name}"'
    if ending == ".png" and find_spec("resvg_py") is None:
        return "a picture in PNG needs resvg-py: pip install 'knobmenu[png]', or choose a name that ends in .svg"
    return ""


def encode_picture(name: str, svg: str) -> bytes:
    """Encode a picture in the format of its name.

    Args:
        name: The file's name, for which `find_picture_problem` is empty.
        svg: The picture.
    """
    if PurePath(name.strip()).suffix.lower() == ".svg":
        return svg.encode()
    # Late, since it is an extra.
    import resvg_py

    return bytes(resvg_py.svg_to_bytes(svg_string=svg, style_sheet=_STYLE))
