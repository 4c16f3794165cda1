"""Events interleaved with the reports of the surroundings, so that a written trace plays on a simulated device."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from knobmenu.design.simulation import SimulationKey
from knobmenu.design.whole import Design
from knobmenu.events import Event
from knobmenu.machine.state import get_value
from knobmenu.session.part import Part, follow, switch_on
from knobmenu.session.simulation import simulate_design
from knobmenu.session.surroundings import Surroundings


def interleave_reports(
    design: Design, events: Iterable[Event], surroundings: Surroundings = simulate_design
) -> Iterator[Event]:
    """Walk events from power-on, each preceded by what the surroundings report until then.

    A report that is already among the events, with the same time and value, is not repeated; so a trace that was
    saved with its reports plays as it was saved.

    Args:
        design: The device's design.
        events: What happens to the device, in order of time.
        surroundings: What makes its readouts change.

    Raises:
        EventError: An event cannot come.
    """
    part = switch_on(design, surroundings)
    for event in events:
        while due_events := collect_due_events([part], event.at_ms, event):
            for (due,) in due_events:
                part = follow(part, due)
                yield due
        part = follow(part, event)
        yield event


def collect_due_events(parts: Sequence[Part], at_ms: int, expected: Event | None = None) -> list[tuple[Event, ...]]:
    """Collect what happens to each variant next by time alone, if surroundings report anything up to a time.

    Args:
        parts: The variants.
        at_ms: The time, inclusive. [ms since power-on]
        expected: An event at this time that may be the report itself.

    Returns:
        For each variant one event or none; an empty list if no surroundings report anything by then.
    """
    reports = [part.response.report for part in parts]
    if not any(report is not None and report.at_ms <= at_ms for report in reports):
        return []
    upcoming = [part.upcoming for part in parts]
    due_ms = min(event.at_ms for event in upcoming if event is not None)
    first: list[tuple[Event, ...]] = [
        (event,) if event is not None and event.at_ms <= due_ms else () for event in upcoming
    ]
    return [] if expected is not None and (expected,) in first else first


def choose_next_value(bound: SimulationKey, part: Part) -> int:
    """Return the value that a moderator's key reports next: the one after the present value, or the first."""
    present = get_value(part.design, part.state, bound.readout)
    after = zip(bound.values, (*bound.values[1:], bound.values[0]), strict=True)
    return next((following for value, following in after if value == present), bound.values[0])
