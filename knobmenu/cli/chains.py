"""Signal chains that the command line names."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from knobmenu.bench.simulated import NamedChain


def read_chain(path: str) -> NamedChain:
    """Read a chain's file.

    Raises:
        KnobmenuError: The file cannot be read, or describes what cannot be.
    """
    from knobmenu.bench.chain_file import LARGEST_FILE, loads
    from knobmenu.bench.simulated import NamedChain
    from knobmenu.files.opening import read_bytes, text_of

    name = Path(path).name
    return NamedChain(loads(text_of(read_bytes(path, "a chain's file", LARGEST_FILE), name), name), name)
