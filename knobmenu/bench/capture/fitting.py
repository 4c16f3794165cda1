"""A contact that bounces like the captured one."""

from __future__ import annotations

from knobmenu.bench.capture.bounce import Bounce
from knobmenu.bench.capture.measure import Measured
from knobmenu.bench.contact import PRESETS, Burst, Contact
from knobmenu.bench.errors import BenchError
from knobmenu.errors import Problem


def fit(measured: Measured) -> Contact:
    """Make a contact that bounces like the captured one.

    Raises:
        BenchError: the bounce could not be determined, or the times or the pins are in doubt.
    """
    grave = [doubt for doubt in measured.doubts if doubt.about in ("time", "pins")]
    if measured.bounce_is == "undetermined":
        grave += [doubt for doubt in measured.doubts if doubt.about == "bounce"]
    if grave:
        expected = "bounce that can be determined"
        raise BenchError([Problem(doubt.about, doubt.reason, expected, doubt.advice) for doubt in grave])
    return Contact(on_make=_fit(measured.on_make), on_break=_fit(measured.on_break))


def find_nearest_preset(measured: Measured) -> str:
    """Name the preset that covers the captured bursts and no more, or the longest one there is."""
    longest_ms = 1000 * measured.longest_bounce_s
    if not longest_ms:
        return "clean"
    reach = {name: preset.on_make.longest_ms for name, preset in PRESETS.items() if preset.on_make is not None}
    enough = [name for name in reach if reach[name] >= longest_ms * 0.999]
    return min(enough, key=lambda name: reach[name]) if enough else max(reach, key=lambda name: reach[name])


def _fit(bounce: Bounce) -> Burst | None:
    if not bounce.bounced:
        return None
    return Burst(
        mean_ms=bounce.mean_s * 1000,
        longest_ms=bounce.longest_s * 1000,
        bounces=bounce.bounces / bounce.bounced,
        no_bounce_fraction=1 - bounce.bounced / bounce.edges,
    )
