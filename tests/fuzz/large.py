"""Files of at most a megabyte that ask for much: each once took seconds, gigabytes or a screenful of megabytes."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

from tests.fuzz.kinds import KINDS
from tests.fuzz.oracle import bound_memory, judge

STARTER = Path(__file__).parents[2] / "knobmenu" / "files" / "starter.toml"


def _head(entries: str = '"back"') -> str:
    return f'format = 1\nname = "Large"\n[home]\npress = "main"\n[menus.main]\nlabel = "Menu"\nentries = [{entries}]\n'


def a_series_of_two_thousand_million_values() -> str:
    """A scale whose generator would list two thousand million values."""
    return _head('"gain"') + (
        '[settings.gain]\nkind = "scale"\nlabel = "Gain"\ninitial = 0\n'
        '[settings.gain.generator]\nkind = "grid"\nlow = -2000000000\nhigh = 0\nstep = 1\n'
    )


def a_dotted_key() -> str:
    """One key of 50 KB, each letter of which is a table."""
    return ".".join("a" * 25_000) + " = 1\n"


def unknown_references() -> str:
    """Five thousand entries of which none exists."""
    names = ", ".join(f'"nothing{number}"' for number in range(5_000))
    settings = "".join(f'[settings.value{number}]\nkind = "switch"\nlabel = "V"\n' for number in range(1_000))
    return _head(names) + settings


def unknown_conditions() -> str:
    """Four thousand entries that are shown under conditions on settings of which none exists, nor do the entries."""
    count = 4_000
    entries = ", ".join(
        f'{{ target = "valve{number}", shown_if = {{ equal = ["value{number}x", true] }} }}' for number in range(count)
    )
    return _head(entries) + "".join(
        f'[settings.value{number}]\nkind = "switch"\nlabel = "V"\n' for number in range(count)
    )


def menus_in_a_cycle() -> str:
    """Twenty thousand menus, each of which leads to the next, and the last to the first."""
    count = 20_000
    return 'format = 1\nname = "Large"\n[home]\npress = "m0"\n' + "".join(
        f'[menus.m{number}]\nlabel = "M"\nentries = ["m{(number + 1) % count}"]\n' for number in range(count)
    )


def fields_with_one_repeated() -> str:
    """Sixty thousand fields, of which one is there twice."""
    return "".join(f"f{number} = 1\n" for number in range(60_000)) + "f30000 = 2\n"


def unknown_keys() -> str:
    """A hundred thousand keys that mean nothing."""
    return "".join(f"k{number}=1\n" for number in range(100_000))


def limits_in_a_row() -> str:
    """Fifteen hundred numbers, each limited by the next: this one is legal."""
    count = 1_500
    entries = ", ".join(f'"n{number}"' for number in range(count))
    settings = "".join(
        f'[settings.n{number}]\nkind = "number"\nlabel = "N"\nlow = 0\ninitial = 0\n'
        + (f'high = "n{number + 1}"\n' if number < count - 1 else "high = 10\n")
        for number in range(count)
    )
    return _head(entries) + settings


def limits_that_lead_to_a_broken_one() -> str:
    """Fifteen hundred numbers, each limited by the next, and the last of them is broken."""
    return limits_in_a_row().replace("high = 10\n", 'high = 10\nstep = "?"\n')


def a_dotted_header() -> str:
    """The header of a table of 25,000 parts."""
    return "[" + ".".join("a" * 25_000) + "]\n"


def texts_that_nothing_shows() -> str:
    """Texts in a language that nothing shows."""
    texts = "".join(f'"Text {number}" = "Wort {number}"\n' for number in range(20_000))
    return 'languages = ["en", "de"]\n' + _head() + "[translations.de]\n" + texts


def a_list_in_a_list() -> str:
    """Brackets as deep as the file is long."""
    return "a = " + "[" * 500_000


def a_long_label() -> str:
    """A label of a megabyte."""
    return STARTER.read_text(encoding="utf-8") + f'# "{"x" * 100}"\n' + f'note = "{"x" * 900_000}"\n'


def nested_conditions() -> str:
    """A condition ten thousand levels deep."""
    deep = 10_000
    return _head() + "[settings.s]\nkind='switch'\nlabel='S'\nshown = " + "{ not = " * deep + "1" + " }" * deep + "\n"


def many_menus() -> str:
    """Ten thousand entries in one list: this one is legal."""
    count = 9_000
    entries = ", ".join(f'"s{number}"' for number in range(count))
    return _head(entries) + "".join(
        f'[settings.s{number}]\nkind = "switch"\nlabel = "S{number}"\n' for number in range(count)
    )


LARGE: tuple[Callable[[], str], ...] = (
    a_series_of_two_thousand_million_values,
    a_dotted_key,
    a_dotted_header,
    unknown_references,
    unknown_conditions,
    menus_in_a_cycle,
    fields_with_one_repeated,
    unknown_keys,
    limits_in_a_row,
    limits_that_lead_to_a_broken_one,
    texts_that_nothing_shows,
    a_list_in_a_list,
    a_long_label,
    nested_conditions,
    many_menus,
)
"""All of them."""

LEGAL = (limits_in_a_row, many_menus)
"""Those that are designs."""


def main(name: str) -> str:
    """Read one of them as a design; return what is wrong with how that went, or nothing."""
    (text,) = (make() for make in LARGE if make.__name__ == name)
    bound_memory()
    return judge(KINDS["design"], text.encode())


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]) or 0)
