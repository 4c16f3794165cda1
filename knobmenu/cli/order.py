"""``knobmenu order``: the order of entries that costs its users least."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from knobmenu.cli.outputs import add_overwrite
from knobmenu.cli.parsing import Parser, add_file
from knobmenu.cli.streams import print_json

if TYPE_CHECKING:
    from knobmenu.analysis.cost.profile import Profile
    from knobmenu.analysis.order.menus import MenuOrder
    from knobmenu.design.whole import Design

HELP = "find the order of entries that takes the fewest detents"
DESCRIPTION = "Find the order of each menu's entries that costs least under a use profile."
EPILOG = """\
The cost of an order is the average number of detents in a use, without held turns. It depends on the profile: how
often each entry is used, and how people leave. See knobmenu cost --help for the format of a profile.

A back entry at an end of its list stays there, unless --move-back is given. Entries are named by their targets.

examples:
  knobmenu order radio.toml --profile kitchen.toml
  knobmenu order radio.toml --menu main --pin station --together bass,treble -o better.toml
  knobmenu order radio.toml --group main --groups 5 --longest 8 -o grouped.toml
"""


def add_options(parser: Parser) -> None:
    """Add the command's own options."""
    add = parser.add_argument
    add_file(parser, "design", metavar="DESIGN", help="a design file")
    add_file(parser, "--profile", help="a use profile; without one, everything is used equally")
    add("--menu", metavar="KEY", action="append", help="order this menu; repeatable; by default all menus")
    add("--pin", metavar="KEYS", default="", help="entries that stay where they are, separated by commas")
    add("--first", metavar="KEYS", default="", help="entries that stand at the top, in this order")
    add("--together", metavar="KEYS", action="append", default=[], help="entries that follow each other")
    add("--sequence", metavar="KEYS", action="append", default=[], help="entries that come in this order")
    add("--move-back", action="store_true", help="let back entries move as well")
    add("--group", metavar="MENU", help="cut this menu into submenus of neighbours instead")
    add("--groups", metavar="N", type=int, default=7, help="with --group: most entries afterwards (7)")
    add("--longest", metavar="N", type=int, default=9, help="with --group: most entries of a submenu (9)")
    add("--json", action="store_true", help="print JSON")
    add_file(parser, "--html", help="write one HTML file")
    add_file(parser, "-o", "--output", help="write the design with the better orders; comments are kept")
    add_overwrite(parser)


def run(options: argparse.Namespace) -> int:
    """Find better orders; return the exit code."""
    from knobmenu.analysis.cost.profile import make_even_profile
    from knobmenu.cli.inputs import read_use
    from knobmenu.files.disk import read_design
    from knobmenu.files.opening import read_bytes

    # Read once, since a pipe cannot be read twice.
    content = read_bytes(options.design)
    design = read_design(content, options.design)
    profile = read_use(options.profile, design) or make_even_profile(design)
    if options.group:
        return _group(options, content, design, profile)
    return _order_menus(options, content, design, profile)


def _split_keys(text: str) -> tuple[str, ...]:
    return tuple(word.strip() for word in text.split(",") if word.strip())


def _order_menus(options: argparse.Namespace, content: bytes, design: Design, profile: Profile) -> int:
    from knobmenu.analysis.cost.report import report_costs
    from knobmenu.analysis.order.menus import OrderRules, order_menus, reorder
    from knobmenu.analysis.order.report import orders_to_plain, write_order_page
    from knobmenu.cli.outputs import clear_progress, make_progress_bar, write_file

    rules = OrderRules(
        pinned=_split_keys(options.pin),
        first=_split_keys(options.first),
        together=tuple(map(_split_keys, options.together)),
        sequence=tuple(map(_split_keys, options.sequence)),
        moves_back=options.move_back,
    )
    bar = make_progress_bar("ordering")
    orders = order_menus(design, profile=profile, menus=options.menu, rules=rules, progress=bar)
    clear_progress()
    better = reorder(design, orders)
    before, after = report_costs(design, profile=profile), report_costs(better, profile=profile)
    if options.json:
        print_json(orders_to_plain(design, orders, before, after))
    else:
        from knobmenu.analysis.order.report import write_verdict

        _print_orders(design, orders, write_verdict(orders, before, after))
    if options.html:
        page = write_order_page(design, orders, before, after)
        write_file(options.html, page, options.overwrite, (options.design, options.profile))
    _write(options, content, better)
    return 0


def _print_orders(design: Design, orders: tuple[MenuOrder, ...], verdict: list[str]) -> None:
    import textwrap

    from knobmenu.analysis.order.report import describe_certainty, list_entry_names

    for sentence in verdict:
        print(sentence)
    for order in orders:
        if order.changes:
            summary = f"{order.present:.2f} -> {order.solution.cost:.2f} detents a use, {describe_certainty(order)}"
            print(f"\n{order.menu}: {summary}")
            names = ", ".join(list_entry_names(design, order))
            print(textwrap.fill(names, 78, initial_indent="  ", subsequent_indent="  ", break_on_hyphens=False))


def _group(options: argparse.Namespace, content: bytes, design: Design, profile: Profile) -> int:
    from knobmenu.analysis.cost.report import report_costs
    from knobmenu.analysis.order.grouping import group_menu
    from knobmenu.analysis.order.menus import find_usage

    usage = find_usage(design, profile)
    grouped, found = group_menu(design, usage, options.group, most_groups=options.groups, longest=options.longest)
    before, after = report_costs(design, profile=profile), report_costs(grouped, profile=profile)
    menu = grouped.index.menus[options.group]
    if options.json:
        entries = [entry.target for entry in menu.entries]
        print_json({"format": 1, "menu": options.group, "entries": entries, "starts": found.starts})
    else:
        print(f"A use takes {after.expected:.2f} gestures instead of {before.expected:.2f}.")
        for entry in menu.entries:
            inside = grouped.index.menus.get(entry.target)
            new = inside is not None and entry.target not in design.index.menus
            names = ": " + ", ".join(item.target for item in inside.entries) if inside is not None and new else ""
            print(f"  {entry.target}{names}")
    _write(options, content, grouped)
    return 0


def _write(options: argparse.Namespace, content: bytes, design: Design) -> None:
    if not options.output:
        return
    from knobmenu.cli.outputs import write_file
    from knobmenu.files.opening import decode_text
    from knobmenu.files.rewriting import update_text

    text = update_text(decode_text(content), design, options.design)
    write_file(options.output, text, options.overwrite, (options.design, options.profile))
