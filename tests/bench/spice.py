"""The same filter in ngspice: a circuit simulator with a time step, made by others."""

from __future__ import annotations

import math
import resource
import shutil
import subprocess
from pathlib import Path

import attrs
import numpy as np

from knobmenu.bench import noise
from knobmenu.bench.filter import Filter
from knobmenu.bench.signal import Floats, Signal

NGSPICE = shutil.which("ngspice")
RAMP_S = 1e-9


STEPS = 45.0
"""Steps in which it must walk each shorter time constant; with 30, some crossings are off by more than is allowed."""

OWN_STEPS = 1.0
"""Steps at which its own control of them prevails: many where the voltage moves, few while it rests. Crossings are then
within 1/500 of the time constant of those with `STEPS`, in a tenth of the time."""


@attrs.frozen(eq=False)
class Waveform:
    """What ngspice says: the voltage at the pin, point by point."""

    at_s: Floats
    volts: Floats


def simulate(parts: Filter, contact: Signal, end_s: float, directory: Path, steps: float = STEPS) -> Waveform:
    """Run one filter and one train of edges, in so many steps at least for each shorter time constant."""
    output = directory / "out.txt"
    return _waveform(_netlist(parts, contact, end_s, f"wrdata {output} v(pin)", _step_s(parts, steps)), output)


def _step_s(parts: Filter, steps: float) -> float:
    return min(parts.open_s, parts.closed_s) / steps


def simulate_noise(parts: Filter, contact: Signal, end_s: float, seed: int, directory: Path) -> Waveform:
    """Run one filter and one train of edges, with noise between pin and threshold.

    The simulator's white noise goes through four equal low-passes in a row. Of their output ``m2 / m0`` is
    ``1 / (5 T²)`` with the time constant T of each; T is chosen so that it is that of the bench's noise. So both cross
    any level at the same rate, though their spectra differ. White noise of rms 1 in steps of T / 5 leaves them with
    1 / sqrt(32).
    """
    output = directory / "out.txt"
    constant_s = noise.compute_time_scale_s(parts.noise_bandwidth_hz) * math.sqrt(2 / 5)
    white_v = parts.noise_v * math.sqrt(32)
    stages = "".join(
        f"E{nth} in{nth} 0 {'white' if nth == 1 else f'out{nth - 1}'} 0 1\n"
        f"Rlow{nth} in{nth} out{nth} 1\nClow{nth} out{nth} 0 {constant_s!r}\n"
        for nth in range(1, 5)
    )
    source = f"Vwhite white 0 DC 0 TRNOISE({white_v!r} {constant_s / 5!r} 0 0)\n{stages}"
    sum_up = "Bmet met 0 V=v(pin)+v(out4)\n"
    step_s = constant_s / 5
    return _waveform(
        _netlist(parts, contact, end_s, f"wrdata {output} v(met)", step_s, source + sum_up, f"setseed {seed}"), output
    )


def _waveform(netlist: str, output: Path) -> Waveform:
    printed = _run(netlist, output.parent)
    assert output.exists(), printed[-2000:]
    table = np.loadtxt(output)
    output.unlink()
    return Waveform(table[:, 0], table[:, 1])


def cost_s(parts: Filter, contact: Signal, end_s: float, directory: Path) -> float:
    """Run the same, and write nothing; give the time that it takes of a processor, with the program's start. [s]"""
    return _processor_s(_netlist(parts, contact, end_s, "", _step_s(parts, STEPS)), directory)


def start_cost_s(directory: Path) -> float:
    """Start the program and leave; give the time that it takes of a processor. [s]"""
    return _processor_s("* nothing\nR1 1 0 1\n.control\nquit\n.endc\n.end\n", directory)


def _netlist(
    parts: Filter, contact: Signal, end_s: float, writing: str, step_s: float, more: str = "", before: str = ""
) -> str:
    points = [(0.0, contact.first)]
    level = contact.first
    for at_s in contact.changes_s.tolist():
        points += [(at_s - RAMP_S / 2, level), (at_s + RAMP_S / 2, 1 - level)]
        level = 1 - level
    train = "\n+ ".join(f"{at_s:.12e} {level}" for at_s, level in points)
    return f"""* one phase
Vsupply supply 0 {parts.supply_v!r}
Rpull supply node {parts.pull_up_ohm!r}
Scontact node 0 control 0 contact
.model contact SW(Ron={parts.contact_ohm!r} Roff=1e12 Vt=0.5 Vh=0)
Vcontrol control 0 PWL(
+ {train})
Rseries node pin {parts.series_ohm!r}
C1 pin 0 {parts.capacitor_f!r}
{more}.options reltol=1e-6 abstol=1e-15 vntol=1e-9
.control
{before}
tran {step_s!r} {end_s!r} 0 {step_s!r}
set wr_singlescale
set numdgt=12
{writing}
quit
.endc
.end
"""


def _run(netlist: str, directory: Path) -> str:
    file = directory / "phase.cir"
    file.write_text(netlist)
    done = subprocess.run(
        [str(NGSPICE), "-b", str(file)], capture_output=True, text=True, timeout=300, cwd=directory, check=False
    )
    return done.stdout + done.stderr


def _processor_s(netlist: str, directory: Path) -> float:
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    _run(netlist, directory)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def crossings(parts: Filter, first: int, wave: Waveform) -> Floats:
    """Find when a pin with two thresholds changes its mind, on straight lines between the points."""
    seen, found = first, []
    volts, at_s = wave.volts, wave.at_s
    above = np.flatnonzero((volts[:-1] <= parts.rising_v) & (volts[1:] > parts.rising_v))
    below = np.flatnonzero((volts[:-1] >= parts.falling_v) & (volts[1:] < parts.falling_v))
    passes = [(int(nth), 0, parts.rising_v) for nth in above] + [(int(nth), 1, parts.falling_v) for nth in below]
    for nth, level, threshold_v in sorted(passes):
        if level != seen:
            share = (threshold_v - volts[nth]) / (volts[nth + 1] - volts[nth])
            found.append(at_s[nth] + share * (at_s[nth + 1] - at_s[nth]))
            seen = level
    return np.array(found)
