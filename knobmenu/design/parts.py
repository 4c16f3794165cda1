"""The parts of a design, each valid by itself; `knobmenu.design.rules` checks that they fit together."""

from __future__ import annotations

from collections.abc import Mapping

import attrs

from knobmenu.design.acceptance import Accepted
from knobmenu.design.fields import Each, Instance, Key, Optional, Text, Whole, to_tuple
from knobmenu.design.hardware import (
    CharacterDisplay,
    Display,
    Knob,
    Lamp,
    PixelDisplay,
    SegmentDisplay,
    Sounder,
)
from knobmenu.design.home import Gestures, Home, Idle, Translation, Wording
from knobmenu.design.kinds import SETTINGS, Setting
from knobmenu.design.menu import Action, Menu, Readout
from knobmenu.design.simulation import BEHAVIOURS, FASTEST, FREE_KEYS, Behaviour, SimulationKey
from knobmenu.structure import Structure

_DISPLAYS = (CharacterDisplay, SegmentDisplay, PixelDisplay)


def _to_translations(translations: object) -> object:
    """Convert a mapping from languages to mappings of texts into translations."""
    if isinstance(translations, Mapping):
        return tuple(Translation(language=language, texts=texts.items()) for language, texts in translations.items())
    return tuple(translations) if isinstance(translations, list) else translations


@attrs.frozen(kw_only=True, init=False, eq=False, repr=False)
class Parts(Structure):
    """The fields of a design, part by part. Only `knobmenu.design.whole.Design` is instantiated."""

    name: str = attrs.field(validator=Text(1, 60))
    """The name of the device."""
    about: str = attrs.field(default="", validator=Text(0, 2000))
    """What the device is for; shown to people, never on the device."""
    display: Display = attrs.field(factory=CharacterDisplay, validator=Instance(_DISPLAYS, "a display"))
    knob: Knob = attrs.field(factory=Knob, validator=Instance((Knob,), "a knob"))
    settings: tuple[Setting, ...] = attrs.field(
        default=(), converter=to_tuple, validator=Each(Instance(SETTINGS, "a setting"))
    )
    menus: tuple[Menu, ...] = attrs.field(default=(), converter=to_tuple, validator=Each(Instance((Menu,), "a menu")))
    actions: tuple[Action, ...] = attrs.field(
        default=(), converter=to_tuple, validator=Each(Instance((Action,), "an action"))
    )
    readouts: tuple[Readout, ...] = attrs.field(
        default=(), converter=to_tuple, validator=Each(Instance((Readout,), "a readout"))
    )
    home: Home = attrs.field(validator=Instance((Home,), "a home"))
    idle: Idle = attrs.field(factory=Idle, validator=Instance((Idle,), "a rule for idling"))
    gestures: Gestures = attrs.field(factory=Gestures, validator=Instance((Gestures,), "gestures"))
    save_after_ms: int = attrs.field(default=2000, validator=Whole(0, 3_600_000))
    """Delay from the last change until changed settings are saved; it keeps turning from wearing out the memory.
    [ms]"""
    lamps: tuple[Lamp, ...] = attrs.field(
        default=(), converter=to_tuple, validator=Each(Instance((Lamp,), "a lamp"), 0, 32)
    )
    sounder: Sounder | None = attrs.field(default=None, validator=Optional(Instance((Sounder,), "a sounder")))
    languages: tuple[str, ...] = attrs.field(default=("en",), converter=to_tuple, validator=Each(Key(), 1, 64))
    """The languages of the device; the design's own texts are in the first."""
    language: str = attrs.field(default="", validator=Key(optional=True))
    """The choice that selects the language: its options are the languages, in order."""
    translations: tuple[Translation, ...] = attrs.field(
        default=(), converter=_to_translations, validator=Each(Instance((Translation,), "a translation"), 0, 64)
    )
    """The texts of the design in its other languages."""
    wording: Wording = attrs.field(factory=Wording, validator=Instance((Wording,), "wording"))
    accepted: tuple[Accepted, ...] = attrs.field(
        default=(), converter=to_tuple, validator=Each(Instance((Accepted,), "an accepted finding"), 0, 1000)
    )
    """Findings that the designer accepts, each with a reason; the device and its firmware do not read them."""
    simulation: tuple[Behaviour, ...] = attrs.field(
        default=(), converter=to_tuple, validator=Each(Instance(BEHAVIOURS, "a behaviour"), 0, 1000)
    )
    """How readouts behave while the design is tried out, each under the key of its readout; never exported."""
    simulation_speed: int = attrs.field(default=1, validator=Whole(1, FASTEST))
    """How much faster time passes in the simulation than on the device: with 60, an hour passes in a minute; never
    exported."""
    simulation_keys: tuple[SimulationKey, ...] = attrs.field(
        default=(), converter=to_tuple, validator=Each(Instance((SimulationKey,), "a bound key"), 0, len(FREE_KEYS))
    )
    """Keys with which a moderator makes the device report something; never exported."""
