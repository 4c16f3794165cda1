"""Designs as plain data: the form that files, specs and recordings share.

Plain data are dictionaries with text keys, lists, texts, integers and booleans, so TOML and JSON are two notations of
the same data. `to_plain` and `from_plain` convert without loss; every failure is a `knobmenu.errors.DesignError` with
the path of each problem.
"""

from knobmenu.codec.design import from_plain, to_plain
from knobmenu.codec.tables import FORMAT

__all__ = ["FORMAT", "from_plain", "to_plain"]
