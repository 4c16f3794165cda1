"""``knobmenu bench suggest``: which resistor and capacitor to buy."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from knobmenu.cli.bench.answering import add_chain, add_json, refusal
from knobmenu.cli.parsing import Parser
from knobmenu.cli.streams import print_json

if TYPE_CHECKING:
    from knobmenu.bench.chain import Chain


def add_parser(commands: argparse._SubParsersAction[Parser]) -> None:
    """Add the subcommand's own parser."""
    parser = commands.add_parser("suggest", help="suggest R and C of a filter")
    add_chain(parser)
    parser.add_argument("bounce_ms", metavar="BOUNCE_MS", type=float, help="the longest bounce to remove")
    parser.add_argument("turns_per_s", metavar="TURNS_PER_S", type=float, help="the fastest turn that must pass")
    add_json(parser)


def run(chain: Chain, options: argparse.Namespace) -> int:
    """Suggest parts."""
    from knobmenu.bench.preferred import Corners, suggest

    bounce_ms, turns_per_s = options.bounce_ms, options.turns_per_s
    if not (0 < bounce_ms < 1e4 and 0 < turns_per_s < 1e3):
        raise refusal("suggest", f"{bounce_ms:g} ms, {turns_per_s:g} turns/s", "both above 0")
    parts = chain.filter
    # Thresholds as wide as those of a published Schmitt trigger (1.7 to 3.15 V and 0.9 to 2.0 V at 4.5 V).
    corners = Corners(
        rising_v=(parts.supply_v * 1.7 / 4.5, parts.supply_v * 3.15 / 4.5),
        falling_v=(parts.supply_v * 0.9 / 4.5, parts.supply_v * 2.0 / 4.5),
    )
    pulses = chain.encoder.pulses_per_turn
    found = suggest(parts, corners, bounce_ms / 1000, turns_per_s * pulses)
    if options.json:
        rows = [
            {
                "series_ohm": one.series_ohm,
                "capacitor_f": one.capacitor_f,
                "bounce_ms": one.bounce_s * 1000,
                "turns_per_s": one.periods_per_s / pulses,
            }
            for one in found
        ]
        print_json(rows)
        return 0
    print(
        f"Pull-up {parts.pull_up_ohm:g} ohm, {parts.supply_v:g} V, Schmitt trigger; parts for bounce of"
        f" {bounce_ms:g} ms at {turns_per_s:g} turns/s, at every corner of 5 % resistors and 10 % capacitors:"
    )
    if not found:
        print(
            "None: these two requests contradict each other. Ask for less bounce or less speed, or decode by the table."
        )
    for one in found[:8]:
        print(
            f"  {one.series_ohm:8g} ohm  {one.capacitor_f * 1e9:8g} nF   removes {one.bounce_s * 1000:.2f} ms,"
            f" passes {one.periods_per_s / pulses:.2f} turns/s"
        )
    return 0
