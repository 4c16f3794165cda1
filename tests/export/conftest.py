"""The small design of the machine's tests, which shows each kind of thing once, and a caution."""

from tests.machine.conftest import radio

__all__ = ["radio"]
