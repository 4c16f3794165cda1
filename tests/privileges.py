"""Commands that are run without root's right to pass over permissions (capabilities(7))."""

from __future__ import annotations

import os
import shutil
from collections.abc import Sequence

import pytest


def without_privileges(command: Sequence[str]) -> list[str]:
    """Return a command that obeys permissions whoever runs it; skip the test where that cannot be had."""
    if not hasattr(os, "geteuid"):
        pytest.skip("needs the permissions of a Unix")
    if os.geteuid() != 0:
        return list(command)
    if shutil.which("setpriv") is None:
        pytest.skip("needs setpriv, to take root's rights away")
    return ["setpriv", "--bounding-set=-dac_override,-dac_read_search", *command]
