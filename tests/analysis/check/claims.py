"""What a finding claims, tried by playing its trace on a device: an oracle that knows nothing of the analysis."""

from __future__ import annotations

import re

from knobmenu.analysis.check.findings import Finding
from knobmenu.design.whole import Design
from knobmenu.device.device import Device
from knobmenu.machine.effects import ActionRun, Committed, Refused, ValueChanged
from knobmenu.machine.state import Asking, Holding
from knobmenu.machine.walking import is_shown
from knobmenu.session.interleaving import interleave_reports
from knobmenu.session.surroundings import MOST_AT_ONCE
from knobmenu.trace import parse_trace
from tests.analysis.brute_force import Graph, at_home, explore_from, pressable

_ENTRY = re.compile(r"menus\.([a-z0-9_-]+)\.entries\[([0-9]+)\]")

SHOWS_NOTHING = frozenset(
    {
        *("no-way", "after-device", "unsettable", "condition-always", "lamp-never", "lamp-always", "not-decided"),
        *("hazard-on-idle", "hazard-stays-open", "untranslated", "short-timeout", "unannounced", "double-press-delay"),
        *("direction", "many-detents", "unconfirmed-reset", "unused-acceptance"),
        *("never-begins", "unread-report"),
    }
)
"""The kinds of finding that no trace shows."""


def assert_shows(design: Design, finding: Finding) -> None:
    """Play a finding's trace and hold the device to what the finding claims."""
    if not finding.trace:
        return
    assert finding.rule not in SHOWS_NOTHING
    device = Device(design)
    steps = device.tell_all(parse_trace(finding.trace))
    state = device.state
    entry = _ENTRY.match(finding.place)
    match finding.rule:
        case "unreachable" | "hides-itself":
            assert entry is not None
            assert (state.focus, state.path[-1].menu) == (None, entry[1])
            assert not is_shown(design, state, entry[1], int(entry[2]))
        case "never-enabled":
            assert entry is not None
            target = design.index.menus[entry[1]].entries[int(entry[2])].target
            assert Refused(target) in device.effects
        case "after-report":
            assert entry is not None
            assert "report" in finding.trace
            assert (state.path[-1].menu, state.path[-1].entry) == (entry[1], int(entry[2]))
        case "lost-for-good" | "lost-until-power-off":
            assert entry is not None
            assert (state.path, state.focus) == ((), None)
            graph = explore_from(design, state, most=2000)
            assert graph is None or not pressable(graph, entry[1], int(entry[2]))
        case "empty-list":
            assert state.path[-1].menu == finding.place.removeprefix("menus.")
            assert state.path[-1].entry == -1
        case "trapped":
            assert state.path[-1].menu == finding.place.removeprefix("menus.")
            graph = explore_from(design, state, most=2000)
            assert graph is None or not _gets_home(graph)
        case "hazard-live":
            key = finding.place.removeprefix("settings.")
            assert any(isinstance(effect, ValueChanged) and effect.key == key for effect in device.effects)
        case "hazard-unconfirmed":
            key = finding.place.partition(".")[2]
            effects = [effect for step in steps for effect in step.effects]
            assert any(isinstance(effect, ActionRun | Committed) and effect.key == key for effect in effects) or any(
                isinstance(effect, ValueChanged) and effect.key == key for effect in device.effects
            )
            assert not any(
                isinstance(step.state.focus, Asking | Holding) and step.state.focus.target == key for step in steps
            )
        case "cut-text":
            assert _quoted(finding)[0] in device.screen.cut
        case "missing-character" | "segment-letters":
            assert set(_quoted(finding)[:-1]) <= set(device.screen.replaced)
        case "hidden-caution":
            assert _quoted(finding)[-1] in device.screen.cut
        case "never-settles":
            at_once = [event.at_ms for event in interleave_reports(design, parse_trace(finding.trace))].count(0)
            assert at_once >= MOST_AT_ONCE
        case "same-when-cut":
            assert entry is not None
            assert (state.path[-1].menu, state.path[-1].entry) == (entry[1], int(entry[2]))
        case _:
            raise AssertionError(f"no claim is written down for {finding.rule}")


def _gets_home(graph: Graph) -> bool:
    return bool(at_home(graph))


def _quoted(finding: Finding) -> list[str]:
    return re.findall("“([^”]*)”", finding.message)
