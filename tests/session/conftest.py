"""What the tests of sessions share."""

from tests.kiln import kiln, kiln_file, other_kiln

__all__ = ["kiln", "kiln_file", "other_kiln"]
