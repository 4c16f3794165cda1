"""Files that the command line names besides the design: signal chains, use profiles, gesture times."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from knobmenu.files.opening import decode_text, read_bytes, read_text

if TYPE_CHECKING:
    from knobmenu.analysis.cost.operators import Operators
    from knobmenu.analysis.cost.profile import Profile
    from knobmenu.bench.simulated import NamedChain
    from knobmenu.design.whole import Design


def read_chain(path: str) -> NamedChain:
    """Read a chain's file.

    Raises:
        KnobmenuError: The file cannot be read, or describes what cannot be.
    """
    from knobmenu.bench.chain_file import LARGEST_FILE, loads
    from knobmenu.bench.simulated import NamedChain

    text = decode_text(read_bytes(path, "a chain's file", LARGEST_FILE), path)
    return NamedChain(loads(text, path), Path(path).name)


def read_use(path: str | None, design: Design) -> Profile | None:
    """Read the file of a use profile; None where none is named.

    Raises:
        DesignError: The file cannot be read, or is not a profile of this design.
    """
    from knobmenu.analysis.cost.profile import read_profile

    return None if path is None else read_profile(read_text(path, "a use profile"), design, path)


def read_gestures(path: str | None) -> Operators | None:
    """Read the file of how long gestures take; None where none is named.

    Raises:
        DesignError: The file cannot be read, or is not a file of operators.
    """
    from knobmenu.analysis.cost.operators import read_operators

    return None if path is None else read_operators(read_text(path, "a file of operators"), path)
