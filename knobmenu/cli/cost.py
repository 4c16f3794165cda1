"""``knobmenu cost``: what every setting and action costs the person who turns the knob."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from knobmenu.cli.outputs import add_overwrite
from knobmenu.cli.parsing import Parser, add_file
from knobmenu.cli.streams import print_json

if TYPE_CHECKING:
    from knobmenu.analysis.cost.operators import Operators
    from knobmenu.analysis.cost.report import Cost, Report
    from knobmenu.analysis.cost.routes import Route
    from knobmenu.design.whole import Design

HELP = "count the gestures and seconds to every setting, action and value"
DESCRIPTION = "Count the fewest detents, presses and holds to every setting, action and value of a design."
EPILOG = """\
The table counts gestures: each detent, press and hold is one. "home" is from home
with the part's conditions already met, "on" from a new device at power-on. "mean" and "worst" are the gestures to a
value from there on; for a text, "mean" is keystrokes per character. "use" is the average of a whole use: from home to
a value, and home again.

A use profile is a TOML file; all its numbers are relative:

  format = 1
  use = { volume = 100, station = 20, alarm = 2 }
  values.volume = { 8 = 3, 20 = 1 }
  leaving = { back = 1, long-press = 2, idle = 1 }

examples:
  knobmenu cost radio.toml
  knobmenu cost radio.toml --to bass --value 3       the least way to a value, as a trace
  knobmenu cost radio.toml --values fm               what each value of a setting costs
  knobmenu cost radio.toml --profile kitchen.toml --html costs.html --plot menu.svg
"""


def add_options(parser: Parser) -> None:
    """Add the command's own options."""
    add_file(parser, "design", metavar="DESIGN", help="a design file")
    add_file(parser, "--profile", help="a use profile; without one, everything is used equally")
    add_file(parser, "--operators", help="a file of gesture times, instead of the published values")
    parser.add_argument("--to", metavar="KEY", help="print the least way to one setting or action, as a trace")
    parser.add_argument("--value", metavar="VALUE", help="with --to: the least way to keep this value")
    parser.add_argument("--values", metavar="KEY", help="print what each value of a setting costs")
    parser.add_argument("--json", action="store_true", help="print everything as JSON")
    add_file(parser, "--html", help="write one HTML file with tables and pictures")
    add_file(parser, "--plot", help="draw the menu with its costs, as .svg or .png")
    add_overwrite(parser)


def run(options: argparse.Namespace) -> int:
    """Count the costs; return the exit code."""
    from knobmenu.analysis.cost.page import write_cost_page
    from knobmenu.analysis.cost.picture import draw_heat_picture
    from knobmenu.analysis.cost.report import report_costs
    from knobmenu.cli.inputs import read_gestures, read_use
    from knobmenu.cli.outputs import check_picture, clear_progress, make_progress_bar, write_file
    from knobmenu.files.disk import load
    from knobmenu.files.pictures import encode_picture

    check_picture(options.plot)
    design = load(options.design)
    operators = read_gestures(options.operators)
    profile = read_use(options.profile, design)
    if options.to:
        return _print_way(options, design, operators)
    report = report_costs(design, profile=profile, operators=operators, progress=make_progress_bar("counting"))
    clear_progress()
    if options.values:
        _print_values(options, report)
    elif options.json:
        _print_json(report)
    else:
        _print_text(report)
    inputs = (options.design, options.profile, options.operators)
    if options.html:
        write_file(options.html, write_cost_page(report), options.overwrite, inputs)
    if options.plot:
        drawn = encode_picture(options.plot, draw_heat_picture(report))
        write_file(options.plot, drawn, options.overwrite, inputs)
    return 0


def _print_json(report: Report) -> None:
    from knobmenu.analysis.cost.plain import report_to_plain

    print_json(report_to_plain(report))


def _print_text(report: Report) -> None:
    from knobmenu.analysis.cost.page import list_needs, write_verdict
    from knobmenu.cli.outputs import print_table

    for sentence in write_verdict(report):
        print(sentence)
    print()
    columns = ("part", "home", "turn", "press", "hold", "on", "seconds", "mean", "worst", "use")
    print_table(columns, [_format_row(cost) for cost in report.costs], frozenset(range(1, len(columns))))
    needing = [(cost.key, list_needs(cost)) for cost in report.costs if list_needs(cost)]
    if needing:
        print("\nneeds first:")
        for key, first in needing:
            print(f"  {key}: {', '.join(first)}")


def _format_row(cost: Cost) -> tuple[str, ...]:
    home, values = cost.home, cost.values
    if home is None or cost.power_on is None:
        return (cost.key[:22], *("-" for _ in range(9)))
    count = home.tally
    worst = values.worst.fewest if values and values.worst else None
    mean = f"{values.mean:.1f}" if values else f"{cost.keystrokes.per_character:.1f}" if cost.keystrokes else ""
    return (
        cost.key[:22],
        str(count.gestures),
        str(count.detents + count.held_detents),
        str(count.presses),
        str(count.holds + count.doubles),
        str(cost.power_on.tally.gestures),
        f"{home.seconds.low:.1f}-{home.seconds.high:.1f}",
        mean,
        str(worst.gestures) if worst else "",
        f"{cost.expected:.1f}" if cost.expected is not None else "",
    )


def _print_values(options: argparse.Namespace, report: Report) -> None:
    """Print the gestures to each value from where the setting can be turned, three ways."""
    from knobmenu.analysis.cost.gestures import Way, count_gestures
    from knobmenu.analysis.cost.plain import values_to_plain
    from knobmenu.cli.outputs import print_table
    from knobmenu.errors import DesignError, Problem, nearest, one_of
    from knobmenu.screen.values import describe_value

    counted = {cost.key: cost.values for cost in report.costs if cost.values is not None}
    values = counted.get(options.values)
    if values is None:
        advice = nearest(options.values, counted)
        raise DesignError(
            [Problem("--values", f'"{options.values}"', f"a setting with values: {one_of(counted)}", advice)]
        )
    if options.json:
        print_json(values_to_plain(values))
        return

    def format_gestures(way: Way | None) -> str:
        return "-" if way is None else str(count_gestures(way).gestures)

    print(f"{values.count} values, from {values.start}; gestures to keep each one:")
    if not values.whole:
        print(f"{len(values.listed)} of them are listed.")
    rows = [
        (
            str(item.value),
            describe_value(report.design, options.values, item.value),
            format_gestures(item.plain),
            format_gestures(item.held),
            format_gestures(item.fast),
        )
        for item in values.listed
    ]
    print_table(("value", "shown as", "plain", "held", "fast"), rows, frozenset(range(5)))


def _print_way(options: argparse.Namespace, design: Design, operators: Operators | None) -> int:
    from knobmenu.analysis.cost.operators import load_operators
    from knobmenu.analysis.cost.profile import read_value
    from knobmenu.analysis.cost.routes import Model, find_least_route_to_value, find_least_routes
    from knobmenu.errors import DesignError, Problem, nearest, one_of
    from knobmenu.machine.state import make_initial_state

    model = Model(design, operators or load_operators())
    parts = [part.key for part in (*design.settings, *design.actions, *design.menus)]
    if options.to not in parts:
        raise DesignError([Problem("--to", f'"{options.to}"', one_of(parts), nearest(options.to, parts))])
    start = make_initial_state(design)
    route: Route | None
    if options.value is None:
        found = find_least_routes(model, start, [options.to])
        route, undecided = found.routes.get(options.to), found.undecided.get(options.to)
    else:
        value = read_value(design, options.to, options.value)
        if value is None:
            raise DesignError([Problem("--value", f'"{options.value}"', f'a value of the setting "{options.to}"')])
        undecided = None
        try:
            route = find_least_route_to_value(model, start, options.to, value)
        except OverflowError as error:
            print(error)
            return 1
    if route is None:
        print(f"not decided: {undecided} states" if undecided else f'"{options.to}" cannot be reached that way by hand')
        return 1
    _print_route(options, route)
    return 0


def _print_route(options: argparse.Namespace, route: Route) -> None:
    from knobmenu.analysis.cost.page import format_seconds
    from knobmenu.analysis.cost.picture import describe_tally
    from knobmenu.analysis.cost.plain import route_to_plain

    if options.json:
        print_json(route_to_plain(route))
        return
    print(f"# {route.tally.gestures} gestures: {describe_tally(route.tally)}")
    print(f"# about {route.seconds.typical:.1f} s ({format_seconds(route.seconds)})")
    if not route.proved:
        print("# there may be a shorter way: not every value was tried")
    print(route.trace, end="")
