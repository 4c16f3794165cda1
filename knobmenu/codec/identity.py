"""The identity of a design: two designs have the same identity exactly if they are equal."""

from __future__ import annotations

import hashlib
import json

from knobmenu.codec.design import to_plain
from knobmenu.design.whole import Design


def compute_identity(design: Design) -> str:
    """Compute the SHA-256 of a design's plain form, as hexadecimal digits."""
    text = json.dumps(to_plain(design), ensure_ascii=True, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()
