"""Pictures of a run and of a map, as SVG text."""

from __future__ import annotations

from collections.abc import Callable
from html import escape

import numpy as np

from knobmenu.bench import filter
from knobmenu.bench.chain import Chain
from knobmenu.bench.run import Run
from knobmenu.bench.signal import Floats, Signal
from knobmenu.bench.sweep import Map

WIDTH, LEFT, RIGHT = 1100, 150, 30
"""Width of a picture and its margins. [px]"""

INK, FAINT, GRID = "#1d2433", "#6b7385", "#dfe3ea"
PHASE_A, PHASE_B, SAMPLE, COUNT, WRONG = "#0b62a8", "#b3541e", "#5b6b2f", "#1c7c54", "#c02440"
_X = Callable[[float], float]
"""From seconds to pixels."""

FONT = "font-family=\"'DejaVu Sans', 'Liberation Sans', Arial, sans-serif\""


def waveforms(chain: Chain, done: Run, begin_s: float, end_s: float) -> str:
    """Draw what happened between two moments: contacts, voltage with thresholds, pins, samples and counts.

    Args:
        chain: the chain of the run.
        done: the run.
        begin_s: where the picture begins. [s]
        end_s: where it ends, after `begin_s`. [s]

    Returns:
        A whole SVG document.
    """
    across = WIDTH - LEFT - RIGHT

    def x(at_s: float) -> float:
        return LEFT + (at_s - begin_s) / (end_s - begin_s) * across

    drawn: list[str] = []
    top = 78.0
    for name, signals, high in (("contact", done.contacts, 34), ("pin", done.pins, 34)):
        if name == "pin":
            top = _voltages(drawn, chain, done, begin_s, end_s, top)
        for phase, signal, colour in zip("AB", signals, (PHASE_A, PHASE_B), strict=True):
            words = ("closed", "open") if name == "contact" else ("low", "high")
            _label(drawn, top + high / 2, f"{name} {phase}", f"up: {words[0]}")
            drawn.append(_steps(signal, begin_s, end_s, x, top, high, colour))
            top += high + 16
        top += 8
    top = _samples(drawn, done, begin_s, end_s, x, top)
    top = _counts(drawn, done, begin_s, end_s, x, top)
    axis: list[str] = []
    _time_axis(axis, begin_s, end_s, x, 66, top)
    title = f"{chain.encoder.detents_per_turn} detents, {chain.reader.kind} reader, {chain.decoder} decoder"
    remark = "from contact to count; time in ms from power-on; a red count goes against the hand"
    return _document(title, remark, top + 40, axis + drawn)


def error_map(found: Map) -> str:
    """Draw a map of errors.

    Returns:
        A whole SVG document.
    """
    columns, rows = len(found.across.values), len(found.down.values)
    wide = (WIDTH - LEFT - RIGHT) / columns
    high = min(max(460 / rows, 16.0), 60.0)
    drawn = []
    for row, rates in enumerate(found.error_rates):
        y = 84 + row * high
        drawn.append(_text(LEFT - 10, y + high / 2 + 4, f"{found.down.values[row]:.3g}", anchor="end"))
        for column, rate in enumerate(rates):
            x = LEFT + column * wide
            words = "not a chain" if rate is None else f"{rate:.2%}"
            tip = (
                f"{found.down.path} {found.down.values[row]:.3g}, {found.across.path} {found.across.values[column]:.3g}"
            )
            drawn.append(
                f'<rect x="{x:.1f}" y="{y:.1f}" width="{wide - 1:.1f}" height="{high - 1:.1f}" fill="{_heat(rate)}">'
                f"<title>{escape(tip)}: {words}</title></rect>"
            )
            if wide > 44 and rate is not None:
                ink = "#ffffff" if rate > 0.05 else INK
                label = f"{rate * 100:.3g}"
                drawn.append(_text(x + wide / 2, y + high / 2 + 4, label, anchor="middle", fill=ink, size=11))
    bottom = 84 + rows * high
    every = max(1, round(60 / wide))
    drawn += [
        _text(LEFT + (column + 0.5) * wide, bottom + 18, f"{value:.3g}", anchor="middle")
        for column, value in enumerate(found.across.values)
        if column % every == 0
    ]
    drawn.append(_text(LEFT + (WIDTH - LEFT - RIGHT) / 2, bottom + 42, found.across.path, anchor="middle", weight=600))
    drawn.append(_text(14, 72, found.down.path, weight=600))
    title = "Errors for each 100 detents"
    return _document(title, "lost, extra and reversed together; grey: such a chain cannot be", bottom + 60, drawn)


def _voltages(drawn: list[str], chain: Chain, done: Run, begin_s: float, end_s: float, top: float) -> float:
    parts = chain.filter
    if not parts.capacitor_f:
        return top
    high, across = 90.0, WIDTH - LEFT - RIGHT
    at_s = np.linspace(begin_s, end_s, 1600)
    for phase, contact, colour in zip("AB", done.contacts, (PHASE_A, PHASE_B), strict=True):
        inside = contact.changes_s[(contact.changes_s > begin_s) & (contact.changes_s < end_s)]
        moments = np.unique(np.concatenate((at_s, inside[:4000])))
        volts = filter.voltage(parts, contact, moments)
        _label(drawn, top + high / 2, f"voltage {phase}", f"0 to {parts.supply_v:g} V")
        for threshold in dict.fromkeys((parts.rising_v, parts.falling_v)):
            y = top + high * (1 - threshold / parts.supply_v)
            drawn.append(
                f'<line x1="{LEFT}" y1="{y:.1f}" x2="{WIDTH - RIGHT}" y2="{y:.1f}" stroke="{FAINT}"'
                ' stroke-dasharray="5 4" stroke-width="0.8"/>'
            )
            drawn.append(_text(WIDTH - RIGHT - 2, y - 3, f"{threshold:.3g} V", anchor="end", size=10, fill=FAINT))
        xs = LEFT + (moments - begin_s) / (end_s - begin_s) * across
        ys = top + high * (1 - volts / parts.supply_v)
        points = " ".join(f"{x:.1f},{y:.1f}" for x, y in zip(xs.tolist(), ys.tolist(), strict=True))
        drawn.append(f'<polyline points="{points}" fill="none" stroke="{colour}" stroke-width="1.3"/>')
        top += high + 18
    return top + 6


def _samples(drawn: list[str], done: Run, begin_s: float, end_s: float, x: _X, top: float) -> float:
    _label(drawn, top + 10, "samples", "that follow an edge")
    samples = done.samples_s[(done.samples_s >= begin_s) & (done.samples_s <= end_s)]
    ticks = "".join(f"M{x(at):.1f} {top:.1f}v16" for at in samples[:5000].tolist())
    drawn.append(f'<path d="{ticks or "M0 0"}" stroke="{SAMPLE}" stroke-width="1" fill="none"/>')
    return top + 34


def _counts(drawn: list[str], done: Run, begin_s: float, end_s: float, x: _X, top: float) -> float:
    _label(drawn, top + 14, "counted", "and the net count")
    net = np.cumsum(done.counted)
    y = top + 14
    drawn.append(f'<line x1="{LEFT}" y1="{y}" x2="{WIDTH - RIGHT}" y2="{y}" stroke="{GRID}"/>')
    begins = [begin for begin, _, _ in done.motion.strokes]
    stroke_of = np.maximum(np.searchsorted(begins, done.counted_s, side="right") - 1, 0)
    ways = np.array([true for _, _, true in done.motion.strokes])[stroke_of]
    inside = np.flatnonzero((done.counted_s >= begin_s) & (done.counted_s <= end_s))
    places = [x(at) for at in done.counted_s[inside].tolist()]
    for nth, (place, next_place) in enumerate(zip(places, [*places, np.inf][1:], strict=True)):
        detents = int(done.counted[inside[nth]])
        colour = COUNT if detents * int(ways[inside[nth]]) > 0 else WRONG
        tip = y - 12 if detents > 0 else y + 12
        points = f"{place - 5:.1f},{y} {place + 5:.1f},{y} {place:.1f},{tip:.1f}"
        drawn.append(f'<polygon points="{points}" fill="{colour}"/>')
        # Of counts too close for a number each, the last one has it.
        if next_place - place > 24:
            drawn.append(_text(place, y + 28, str(int(net[inside[nth]])), anchor="middle", size=11))
    return top + 54


def _steps(signal: Signal, begin_s: float, end_s: float, x: _X, top: float, high: float, colour: str) -> str:
    inside: Floats = signal.changes_s[(signal.changes_s > begin_s) & (signal.changes_s < end_s)]
    level = int(signal.levels(np.array([begin_s]))[0])
    path = [f"M{x(begin_s):.1f} {top + high * (1 - level):.1f}"]
    for at_s in inside.tolist():
        level = 1 - level
        path.append(f"H{x(at_s):.2f}V{top + high * (1 - level):.1f}")
    path.append(f"H{x(end_s):.1f}")
    return f'<path d="{"".join(path)}" fill="none" stroke="{colour}" stroke-width="1.3"/>'


def _time_axis(drawn: list[str], begin_s: float, end_s: float, x: _X, top: float, bottom: float) -> None:
    span_ms = (end_s - begin_s) * 1000
    step_ms = 10 ** np.floor(np.log10(span_ms / 5))
    step_ms = next(step_ms * times for times in (1, 2, 5, 10) if span_ms / (step_ms * times) <= 12)
    at_ms = np.ceil(begin_s * 1000 / step_ms) * step_ms
    while at_ms <= end_s * 1000:
        place = x(at_ms / 1000)
        drawn.append(f'<line x1="{place:.1f}" y1="{top}" x2="{place:.1f}" y2="{bottom:.1f}" stroke="{GRID}"/>')
        drawn.append(_text(place, bottom + 18, f"{at_ms:g}", anchor="middle", fill=FAINT))
        at_ms += step_ms


def _label(drawn: list[str], y: float, name: str, remark: str) -> None:
    drawn.append(_text(14, y, name, weight=600))
    drawn.append(_text(14, y + 14, remark, size=10, fill=FAINT))


def _text(
    x: float, y: float, words: str, *, anchor: str = "start", fill: str = INK, size: int = 12, weight: int = 400
) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{fill}" font-size="{size}"'
        f' font-weight="{weight}">{escape(words)}</text>'
    )


def _heat(rate: float | None) -> str:
    """Give a colour for an error rate: white for none, darker by equal ratios from 0.1 % to 100 %."""
    if rate is None:
        return "#c9ccd3"
    if rate <= 0:
        return "#eef6f0"
    way = float(np.clip((np.log10(rate) + 3) / 3, 0, 1))
    mixed = [round(light + (dark - light) * way) for light, dark in zip((250, 226, 200), (122, 10, 46), strict=True)]
    return "#{:02x}{:02x}{:02x}".format(*mixed)


def _document(title: str, remark: str, height: float, drawn: list[str]) -> str:
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{height:.0f}"'
            f' viewBox="0 0 {WIDTH} {height:.0f}" {FONT}>',
            f'<rect width="{WIDTH}" height="{height:.0f}" fill="#ffffff"/>',
            _text(14, 26, title, size=17, weight=600),
            _text(14, 46, remark, fill=FAINT),
            *drawn,
            "</svg>",
            "",
        ]
    )
