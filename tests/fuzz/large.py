"""Small files that ask for much: each once took seconds, gigabytes or a screenful of megabytes."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

STARTER = Path(__file__).parents[2] / "knobmenu" / "files" / "starter.toml"


def _head(entries: str = '"back"') -> str:
    return f'name = "Large"\n[home]\npress = "main"\n[menus.main]\nlabel = "Menu"\nentries = [{entries}]\n'


def decibels_from_the_lowest_number() -> str:
    """A scale whose generator would list two thousand million values."""
    return _head('"gain"') + (
        '[settings.gain]\nkind = "scale"\nlabel = "Gain"\ninitial = 0\n'
        '[settings.gain.generator]\nkind = "decibel"\nlow = -2000000000\nhigh = 0\nstep = 1\n'
    )


def a_dotted_key() -> str:
    """One key of 50 KB, each letter of which is a table."""
    return ".".join("a" * 25_000) + " = 1\n"


def unknown_references() -> str:
    """Five thousand entries of which none exists."""
    names = ", ".join(f'"nothing{number}"' for number in range(5_000))
    settings = "".join(f'[settings.value{number}]\nkind = "switch"\nlabel = "V"\n' for number in range(1_000))
    return _head(names) + settings


def menus_in_a_cycle() -> str:
    """Twenty thousand menus, each of which leads to the next, and the last to the first."""
    count = 20_000
    return 'name = "Large"\n[home]\npress = "m0"\n' + "".join(
        f'[menus.m{number}]\nlabel = "M"\nentries = ["m{(number + 1) % count}"]\n' for number in range(count)
    )


def fields_with_one_repeated() -> str:
    """Sixty thousand fields, of which one is there twice."""
    return "".join(f"f{number} = 1\n" for number in range(60_000)) + "f30000 = 2\n"


def unknown_keys() -> str:
    """A hundred and ninety thousand keys that mean nothing."""
    return "".join(f"k{number}=1\n" for number in range(80_000))


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
    decibels_from_the_lowest_number, a_dotted_key, unknown_references, menus_in_a_cycle, fields_with_one_repeated,
    unknown_keys, limits_in_a_row, a_list_in_a_list, a_long_label, nested_conditions, many_menus,
)  # fmt: skip


def large() -> Iterator[tuple[str, bytes]]:
    """Walk them, each with its name."""
    for make in LARGE:
        yield make.__name__, make().encode()
