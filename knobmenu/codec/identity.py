"""The identity of a design: the same for two designs exactly if they are equal."""

from __future__ import annotations

import hashlib
import json

from knobmenu.codec.design import to_plain
from knobmenu.design.whole import Design


def compute_identity(design: Design) -> str:
    """Return the SHA-256 of a design's plain form, as hexadecimal digits."""
    text = json.dumps(to_plain(design), ensure_ascii=True, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()
