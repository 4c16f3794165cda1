"""Input files of the command line other than designs: signal chains, use profiles, gesture times."""

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
    """Read a chain from a file.

    Raises:
        KnobmenuError: The file cannot be read, or its chain is not valid.
    """
    from knobmenu.bench.chain_file import LARGEST_FILE, loads
    from knobmenu.bench.simulated import NamedChain

    text = decode_text(read_bytes(path, "a chain's file", LARGEST_FILE), path)
    return NamedChain(loads(text, path), Path(path).name)


def read_use(path: str | None, design: Design) -> Profile | None:
    """Read a use profile from a file; None if no file is given.

    Raises:
        DesignError: The file cannot be read, or is not a profile of this design.
    """
    from knobmenu.analysis.cost.profile import read_profile

    return None if path is None else read_profile(read_text(path, "a use profile"), design, path)


def read_gestures(path: str | None) -> Operators | None:
    """Read gesture times from a file; None if no file is given.

    Raises:
        DesignError: The file cannot be read, or is not a file of operators.
    """
    from knobmenu.analysis.cost.operators import read_operators

    return None if path is None else read_operators(read_text(path, "a file of operators"), path)
