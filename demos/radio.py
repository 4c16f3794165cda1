"""The kitchen radio of radio.toml, built in Python: an equal design.

A file is best for one design; Python, where designs are made: from loops, from measurements, in variants. Everything
here is invented.
"""

from __future__ import annotations

from functools import partial

from knobmenu import (
    Acceleration,
    Accepted,
    Action,
    All,
    CharacterDisplay,
    Choice,
    Clock,
    Design,
    Entry,
    Equal,
    Generator,
    Glyph,
    Home,
    Idle,
    Knob,
    Lamp,
    Menu,
    Number,
    Option,
    Ramp,
    Readout,
    Row,
    Scale,
    SimulationKey,
    Sounder,
    Switch,
    TextSetting,
    Tone,
    Unequal,
    Wording,
)


def glyph(sign: str, drawing: str) -> Glyph:
    """Draw a character of the device's own: eight rows of five dots, blanks between the rows."""
    return Glyph(character=sign, dots=drawing.split())


def options(**labels: str) -> list[Option]:
    """Make options of a choice from their keys and labels."""
    return [Option(key=key, label=label) for key, label in labels.items()]


def tone_control(key: str, label: str) -> Number:
    """Make a setting that raises or lowers a part of the sound, flat in the middle."""
    return Number(key=key, label=label, low=-6, high=6, initial=0, unit="dB", applies="live", bar=True)


def channels(low: int, high: int, step: int) -> Generator:
    """Make the channels of a band, all equally far apart."""
    return Generator(kind="grid", low=low, high=high, step=step)


tuned = partial(Scale, applies="live", accelerates=True, ends="wrap")
"""Makes a setting that tunes through the channels of a band, heard while the knob turns."""

SOUND = [
    Number(key="volume", label="Volume", low=0, high="loudest", initial=8, applies="live"),
    Switch(key="mute", label="Mute", applies="live", saved=False),
    Choice(
        key="station",
        label="Station",
        applies="live",
        ends="wrap",
        options=[
            Option(key="valley", label="Valley Radio", short="Valley"),
            Option(key="mill", label="Mill Brook FM", short="Mill"),
            Option(key="night", label="Night Train ☾", short="Night"),
            Option(key="harvest", label="Harvest MW", short="Harvest"),
            Option(key="by-hand", label="Tuned by hand", short="By hand"),
        ],
    ),
    Choice(key="band", label="Band", options=options(fm="FM", mw="MW")),
    tuned(key="fm", label="FM", unit="MHz", generator=channels(875, 1080, 1), initial=984, decimals=1),
    tuned(key="mw", label="MW", unit="kHz", generator=channels(531, 1602, 9), initial=981),
    tone_control("bass", "Bass"),
    tone_control("treble", "Treble"),
    Number(
        key="loudest",
        label="Loudest volume",
        short="Loudest",
        low=10,
        high=30,
        initial=20,
        confirm="ask",
        question="Change limit?",
        hazard="Loud sound for long harms the hearing, for good. This limit does not protect it.",
    ),
]

WAKING = [
    Switch(key="alarm", label="Alarm"),
    Clock(key="alarm-time", label="Time", initial=6 * 60 + 30, on_idle="commit"),
    Choice(
        key="alarm-days",
        label="Days",
        options=options(every="Every day", working="Mon-Fri", weekend="Sat+Sun"),
        initial="working",
    ),
    Choice(key="alarm-sound", label="Wake by", options=options(radio="Radio", buzzer="Buzzer", both="Both")),
    Number(key="alarm-volume", label="Volume", low=2, high="loudest", initial=6),
    Scale(key="snooze", label="Snooze", values=[3, 5, 7, 10, 15, 20], initial=7, unit="min"),
    Scale(
        key="sleep",
        label="Sleep",
        values=[0, 10, 15, 20, 30, 45, 60, 90],
        initial=0,
        unit="min",
        names=((0, "Off"),),
        saved=False,
    ),
]

ITSELF = [
    Clock(key="time", label="Clock", initial=12 * 60, saved=False),
    Number(
        key="light",
        label="Backlight",
        short="Light",
        low=0,
        high=10,
        initial=6,
        applies="live",
        bar=True,
        names=((0, "Off"),),
    ),
    TextSetting(key="owner", label="Owner", longest=8),
    Choice(key="language", label="Language", short="Lang", applies="live", options=options(en="English", de="Deutsch")),
]

BY_HAND = Equal("station", "by-hand")

MENUS = [
    Menu(
        key="main",
        label="Menu",
        entries=[
            "station",
            Entry("band", shown_if=BY_HAND),
            *(Entry(key, shown_if=All([BY_HAND, Equal("band", key)])) for key in ("fm", "mw")),
            "tone",
            "waking",
            "sleep",
            "set-up",
            "back",
        ],
    ),
    Menu(key="tone", label="Tone", entries=["bass", "treble", "loudest", "back"]),
    Menu(
        key="waking",
        label="Alarm clock",
        short="Alarm",
        entries=[
            "alarm",
            "alarm-time",
            "alarm-days",
            "alarm-sound",
            Entry("alarm-volume", enabled_if=Unequal("alarm-sound", "buzzer")),
            "snooze",
            "back",
        ],
    ),
    Menu(key="set-up", label="Set up", entries=["time", "light", "language", "owner", "signal", "factory", "back"]),
]

GERMAN = {
    "Kitchen radio": "Küchenradio",
    "Volume": "Lautstärke",
    "Mute": "Stumm",
    "Station": "Sender",
    "Band": "Band",
    "MW": "MW",
    "Radio": "Radio",
    "Lang": "Spr.",
    "Valley Radio": "Radio Talwärts",
    "Valley": "Talwärts",
    "Mill Brook FM": "Mühlbach FM",
    "Mill": "Mühlbach",
    "Night Train ☾": "Nachtzug ☾",
    "Night": "Nachtzug",
    "Harvest MW": "Erntewelle MW",
    "Harvest": "Ernte",
    "Tuned by hand": "Von Hand",
    "By hand": "Hand",
    "FM": "UKW",
    "Bass": "Tiefen",
    "Treble": "Höhen",
    "Loudest volume": "Höchste Lautst.",
    "Loudest": "Höchste",
    "Change limit?": "Grenze ändern?",
    "Loud sound for long harms the hearing, for good. This limit does not protect it.": (
        "Lange laut hören schadet dem Gehör bleibend. Diese Grenze schützt nicht davor."
    ),
    "Alarm": "Wecken",
    "Time": "Um",
    "Days": "Tage",
    "Every day": "Täglich",
    "Mon-Fri": "Mo-Fr",
    "Sat+Sun": "Sa+So",
    "Wake by": "Weckton",
    "Buzzer": "Summer",
    "Both": "Beides",
    "Snooze": "Dösen",
    "Sleep": "Schlafen",
    "Clock": "Uhr",
    "Backlight": "Beleuchtung",
    "Light": "Licht",
    "Owner": "Gehört",
    "Language": "Sprache",
    "Menu": "Menü",
    "Tone": "Klang",
    "Alarm clock": "Wecker",
    "Set up": "Einrichten",
    "Factory reset": "Werkseinstell.",
    "Reset": "Werk",
    "Reception": "Empfang",
    "Muted": "Stumm",
    "On": "Ein",
    "Off": "Aus",
    "Back": "Zurück",
    "Yes": "Ja",
    "No": "Nein",
    "Hold to reset": "Drücken, halten",
    "Nothing here": "Leer",
}

RADIO = Design(
    name="Kitchen radio",
    about=(
        "An invented radio of the Lindholt valley: FM and medium wave, stations by name, an alarm, and a loudest volume"
        " that its owner sets."
    ),
    languages=["en", "de"],
    language="language",
    translations={"de": GERMAN},
    wording=Wording(hold="Hold to reset"),
    accepted=[
        Accepted(
            finding="hidden-caution",
            place="settings.loudest.hazard",
            reason="Two rows have no room for it: it is printed on the radio, as the comment above says.",
        ),
        Accepted(
            finding="unannounced",
            place="home.long_press",
            reason="The sign of a crossed-out speaker with the word hold is printed below the knob.",
        ),
    ],
    save_after_ms=3000,
    display=CharacterDisplay(
        columns=16,
        rows=2,
        characters="lcd-a00",
        glyphs=[
            glyph("♪", "..#.. ..##. ..#.# ..#.# ..#.. ###.. ###.. ....."),
            glyph("▂", "..... ..... ..... ..... ..... #.... #.... ....."),
            glyph("▄", "..... ..... ..... ..#.. ..#.. #.#.. #.#.. ....."),
            glyph("▆", "..... ....# ....# ..#.# ..#.# #.#.# #.#.# ....."),
            glyph("☾", "..##. .##.. ##... ##... ##... .##.. ..##. ....."),
        ],
    ),
    knob=Knob(
        detents_per_turn=24,
        pulses_per_turn=24,
        detents_per_period=1,
        long_press_ms=500,
        turns_while_held=True,
        acceleration=[Acceleration(faster_than_ms=20, times=10), Acceleration(faster_than_ms=50, times=3)],
    ),
    home=Home(
        rows=[Row("{station}", right="{signal}"), Row("♪", bar="volume", right="{volume}")],
        turn="volume",
        press="main",
        long_press="mute",
    ),
    idle=Idle(after_ms=20_000),
    settings=[*SOUND, *WAKING, *ITSELF],
    menus=MENUS,
    actions=[Action(key="factory", label="Factory reset", short="Reset", confirm="hold", then="home")],
    readouts=[
        Readout(key="signal", label="Reception", initial=3, names=((0, "-"), (1, "▂"), (2, "▄"), (3, "▆"))),
    ],
    lamps=[
        Lamp(key="muted", label="Muted", colour="red", lit_if=Equal("mute", True), blink_ms=1000),
        Lamp(key="wakes", label="Alarm", colour="amber", lit_if=Equal("alarm", True)),
    ],
    sounder=Sounder(
        tones=[
            Tone(answers=["limit"], length_ms=8, pitch_hz=1500),
            Tone(answers=["refused"], length_ms=60, pitch_hz=400),
        ]
    ),
    simulation=[Ramp(key="signal", to=1, every_ms=4000, repeats=True)],
    simulation_keys=[
        SimulationKey(key="f2", label="The aerial falls off, or is back", readout="signal", values=[0, 3]),
    ],
)
"""The radio."""
