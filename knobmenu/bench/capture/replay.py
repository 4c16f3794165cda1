"""A captured knob sent through any reader and decoder: what would this firmware have counted?"""

from __future__ import annotations

import attrs
import numpy as np

from knobmenu.bench.capture.measure import Measured, closed
from knobmenu.bench.capture.recording import Recording
from knobmenu.bench.chain import Chain
from knobmenu.bench.filter import solve
from knobmenu.bench.motion import SETTLING_S, Motion
from knobmenu.bench.run import Run, finish
from knobmenu.bench.signal import Signal


def replay(recording: Recording, measured: Measured, chain: Chain, seed: int, *, filtered: bool = False) -> Run:
    """Send a capture through a chain's reader and decoder.

    Args:
        recording: the capture.
        measured: which pins it is about, and how they are wired.
        chain: its reader and decoder are used, and its filter where `filtered`; its encoder says the detents per period
            where the capture does not.
        seed: settles where in its period the reader begins.
        filtered: whether the capture was taken at the contacts, so that the filter is still to come.

    Returns:
        The run; its truth is one stroke of the detents that the clean phases hold.
    """
    contacts = (
        closed(recording.pin(measured.pin_a), measured.closed_is_low),
        closed(recording.pin(measured.pin_b), measured.closed_is_low),
    )
    if measured.detents_per_period:
        part = attrs.evolve(chain.encoder, detents_per_period=measured.detents_per_period)
        chain = attrs.evolve(chain, encoder=part)
    pins: tuple[Signal, Signal] = contacts
    if filtered:
        pins = (solve(chain.filter, contacts[0])[0], solve(chain.filter, contacts[1])[0])
    # The reader goes on a little past the end, so that what a filter delays still arrives.
    end_s = recording.end_s + SETTLING_S
    moved = Motion(np.array([0.0, end_s]), np.array([0.0, float(measured.detents)]), ((0.0, end_s, measured.detents),))
    return finish(chain, moved, contacts, pins, np.random.default_rng(seed))
