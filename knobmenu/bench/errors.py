"""Errors in the bench's inputs."""

from __future__ import annotations

from knobmenu.errors import ProblemsError


class BenchError(ProblemsError):
    """A chain, a capture or a request that cannot be used: all of its problems together, in `problems`."""
