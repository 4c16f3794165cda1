"""The kinds of finding, with identifier, severity and meaning; findings and reports."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum

import attrs


class Severity(Enum):
    """How much a finding matters."""

    ERROR = "error"
    """Someone can be hurt, or something in the design cannot work."""
    WARNING = "warning"
    """Someone will be stopped or misled."""
    NOTE = "note"
    """For information."""


@attrs.frozen
class Rule:
    """A kind of finding."""

    key: str
    """Its identifier."""
    severity: Severity
    title: str
    """What is wrong, in a few words."""
    why: str
    """Why it matters, with its source."""


_E, _W, _N = Severity.ERROR, Severity.WARNING, Severity.NOTE
_TIMING = "Common practice: a person who reads, thinks or is called away needs longer than one who only acts."

_RULES = (
    # Proved.
    Rule("unreachable", _E, "no one can ever see the entry", "Its condition never holds where its list is open."),
    Rule("never-enabled", _E, "the entry can never be pressed", "It is shown, but its condition never holds."),
    Rule("no-way", _W, "nothing leads to it", "No menu lists it, and no gesture at home works on it."),
    Rule(
        "after-report",
        _N,
        "it can be seen or pressed only after a report",
        "The initial values of the readouts do not allow it.",
    ),
    Rule(
        "after-device",
        _N,
        "it can be seen only after the device changed values by itself",
        "Only a reset by an action or a power cycle leads there.",
    ),
    Rule("lost-for-good", _E, "the entry can be lost for good", "Not even switching off and on brings it back."),
    Rule("lost-until-power-off", _W, "the entry can be lost until power-off", "Nothing at the knob brings it back."),
    Rule("hides-itself", _W, "the setting can hide its own entry", "A slip cannot be corrected where it was made."),
    Rule("empty-list", _W, "the list can be empty", "Only a press leaves it, and nothing says so."),
    Rule("trapped", _E, "the list cannot be left", "No gesture, no entry and no idle time leads out of it."),
    Rule("unsettable", _W, "some values can never be set", "They are declared, but no turn of the knob reaches them."),
    Rule("condition-always", _W, "the condition always holds", "It is redundant, or not what was meant."),
    Rule("lamp-never", _W, "the lamp is never lit", "Its condition never holds."),
    Rule("lamp-always", _W, "the lamp is always lit", "A lamp that never goes out reports nothing."),
    Rule("not-decided", _N, "not decided", "There are too many states to look at, so nothing is claimed."),
    # Hazards.
    Rule("hazard-live", _E, "a hazardous setting changes with each detent", "A slip takes effect before it is seen."),
    Rule("hazard-unconfirmed", _E, "a hazard is not confirmed", "A slip is enough; see docs/explanation/safety.md."),
    Rule("hazard-on-idle", _E, "idling keeps a hazardous draft", "The device acts when its user has walked away."),
    Rule(
        "hazard-stays-open",
        _W,
        "a question about a hazard stays open for any length of time",
        "A later, unrelated press can answer it.",
    ),
    Rule("hidden-caution", _W, "a caution is not shown whole", "People cannot heed what they cannot read."),
    # Fit.
    Rule("cut-text", _W, "a text is cut off", "What is left may mean something else."),
    Rule("same-when-cut", _W, "two entries look the same once they are cut", "No one can tell which is which."),
    Rule("untranslated", _W, "texts are not translated", "They appear in another language than the rest."),
    Rule("missing-character", _W, "the display lacks a character", "Another character replaces it."),
    Rule("segment-letters", _W, "seven segments cannot show a letter", "An underscore or a blank replaces it."),
    # Habit.
    Rule(
        "short-timeout",
        _W,
        "the idle time is shorter than published guidance",
        "WCAG 2.2, success criterion 2.2.1, gives at least 20 seconds to react to a time limit (from memory). "
        + _TIMING,
    ),
    Rule(
        "unannounced",
        _W,
        "nothing on the display announces the only way to it",
        "A long press, a double press and a held turn cannot be seen; users who do not know them cannot find them "
        "(common practice).",
    ),
    Rule(
        "double-press-delay",
        _W,
        "waiting for a double press delays every press",
        "A press is reported only when no second one followed. 300 ms is the longest double-tap time among the "
        "published platform constants (Android ViewConfiguration); 100 ms is what feels immediate (Nielsen).",
    ),
    Rule(
        "direction",
        _W,
        "clockwise decreases",
        "IEC 60447 and MIL-STD-1472 have clockwise increase; valves are their exception.",
    ),
    Rule(
        "many-detents",
        _W,
        "the farthest value is many detents away",
        "Five turns of the knob are common practice as a limit; acceleration, larger steps or digits shorten the way.",
    ),
    Rule("unconfirmed-reset", _W, "an action resets settings without asking", "A slip loses what was set by hand."),
    # Simulated surroundings.
    Rule(
        "never-begins",
        _W,
        "a simulated behaviour never begins",
        "No action, setting, other behaviour or key of the moderator can start it.",
    ),
    Rule(
        "never-settles",
        _E,
        "simulated readouts set each other without end",
        "The display never settles, so nothing can be read.",
    ),
    Rule(
        "unread-report", _W, "a simulated report is not used", "Nobody sees that it happened, and nothing answers it."
    ),
    # The check itself.
    Rule("unused-acceptance", _W, "an accepted finding is not found", "It was fixed, or its place was renamed."),
)

RULES: Mapping[str, Rule] = {rule.key: rule for rule in _RULES}
"""Every kind of finding, by identifier."""


@attrs.frozen
class Finding:
    """One finding in a design."""

    rule: str
    """Its kind: a key of `RULES`."""
    place: str
    """Its path inside the design, such as ``menus.main.entries[3]``."""
    message: str
    """What is wrong, as a sentence."""
    advice: str
    """What to do, as a sentence."""
    trace: str = ""
    """A shortest trace that shows it, for ``knobmenu play``; empty if no trace can show it."""
    accepted: str = ""
    """The designer's reason for accepting it; empty: not accepted."""

    @property
    def severity(self) -> Severity:
        """How much it matters."""
        return RULES[self.rule].severity


@attrs.frozen
class Report:
    """The result of a check."""

    findings: tuple[Finding, ...]
    """All findings in the order of the rules, including accepted ones."""
    states: int
    """The number of abstract states that the proofs covered."""

    def list_open(self, severity: Severity) -> tuple[Finding, ...]:
        """List the findings of a severity that are not accepted."""
        return tuple(item for item in self.findings if item.severity is severity and not item.accepted)
