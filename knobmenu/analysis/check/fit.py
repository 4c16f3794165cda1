"""Find what does not fit the display: cut texts, missing characters, missing translations, hidden cautions."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from knobmenu.analysis.abstraction import TooLargeError
from knobmenu.analysis.check.findings import Finding
from knobmenu.analysis.check.screens import Shot, walk_shots
from knobmenu.analysis.check.showing import find_first_trace
from knobmenu.analysis.check.subject import Subject
from knobmenu.analysis.sites import ALWAYS
from knobmenu.codec.forms import join_key
from knobmenu.design.conditions import Resolved
from knobmenu.design.hardware import SegmentDisplay
from knobmenu.design.menu import Action
from knobmenu.design.settings import Switch
from knobmenu.design.texts import PLACEHOLDER, walk_texts
from knobmenu.design.whole import Design
from knobmenu.errors import printable
from knobmenu.screen.cells import Screen
from knobmenu.screen.characters import CellText
from knobmenu.screen.face import get_face
from knobmenu.screen.lists import fit_captions
from knobmenu.screen.panel import CellPanel


def check_fit(subject: Subject) -> Iterator[Finding]:
    """Check every screen in every language."""
    taken = tuple(walk_shots(subject.design))
    yield from _find_cut(subject, taken)
    yield from _find_replaced(subject, taken)
    yield from _find_same(subject, taken)
    yield from _find_hidden_cautions(subject, taken)
    yield from _find_untranslated(subject.design)


def _find_cut(subject: Subject, taken: tuple[Shot, ...]) -> Iterator[Finding]:
    design = subject.design
    on_segments = isinstance(design.display, SegmentDisplay)
    cautions = {
        translate(design, language, part.hazard)
        for part in design.index.hazards.values()
        for language in range(len(design.languages))
    }
    found: dict[tuple[int, str], list[Shot]] = {}
    for shot in taken:
        # On seven segments only the answer is shown; no question has room, however short it is.
        if not (on_segments and shot.target and shot.value is None):
            for text in shot.screen.cut:
                if text not in cautions:
                    found.setdefault((shot.language, text), []).append(shot)
    for (_, text), shown in found.items():
        shot, trace = find_first_trace(subject, shown, partial(_is_cut, text))
        where, rows = _describe_language(design, shot), _describe_rows(shot)
        words = f"“{printable(text)}” does not fit{where}: it is shown as “{rows}”."
        advice = "Shorten it, give it a short form, or show it on a larger display."
        yield Finding("cut-text", _find_place(design, shot, text), words, advice, trace)


def _is_cut(text: str, screen: Screen) -> bool:
    return text in screen.cut


def _replaces(characters: frozenset[str], screen: Screen) -> bool:
    return characters <= set(screen.replaced)


def _shows(text: str, screen: Screen) -> bool:
    return any(text in row for row in screen.rows)


def _describe_language(design: Design, shot: Shot) -> str:
    return f" in {design.languages[shot.language]}" if len(design.languages) > 1 else ""


def _describe_rows(shot: Shot) -> str:
    return " / ".join(" ".join(row.split()) for row in shot.screen.rows if row.strip())


def _find_place(design: Design, shot: Shot, text: str) -> str:
    """Return the path of a shown text: its own field, its translation, or the place that shows it."""
    for path, own in _walk_own_texts(design, shot):
        if translate(design, shot.language, own) == text:
            return path if own == text else join_key(f"translations.{design.languages[shot.language]}", own)
    return shot.place


def _walk_own_texts(design: Design, shot: Shot) -> Iterator[tuple[str, str]]:
    if shot.menu and not shot.target:
        target = design.index.menus[shot.menu].entries[shot.entry].target
        yield from (
            (path, text) for path, text in walk_texts(design) if f".{target}." in f".{path}." or path == shot.place
        )
    yield from walk_texts(design)


def _find_replaced(subject: Subject, taken: tuple[Shot, ...]) -> Iterator[Finding]:
    design = subject.design
    rule = "segment-letters" if isinstance(design.display, SegmentDisplay) else "missing-character"
    found: set[tuple[int, str]] = set()
    for shot in taken:
        missing = [one for one in shot.screen.replaced if (shot.language, one) not in found]
        if missing:
            found.update((shot.language, one) for one in missing)
            characters = ", ".join(f"“{printable(one)}”" for one in missing)
            what = "Seven segments cannot show" if rule == "segment-letters" else "The display does not have"
            message = f"{what} {characters}{_describe_language(design, shot)}: “{_describe_rows(shot)}” is shown."
            advice = "Reword it, give it a short form in other characters, or add a glyph where the display takes any."
            _, trace = find_first_trace(subject, [shot], partial(_replaces, frozenset(missing)))
            yield Finding(rule, shot.place, message, advice, trace)


def _find_same(subject: Subject, taken: tuple[Shot, ...]) -> Iterator[Finding]:
    """Find entries of one list whose names differ but look the same once they are cut."""
    design = subject.design
    seen: dict[tuple[int, str, str], tuple[int, str]] = {}
    reported: set[tuple[str, int]] = set()
    for shot in taken:
        if not shot.menu or shot.target or shot.value is not None:
            continue
        caption = fit_captions(get_face(design, shot.language), shot.menu, shot.entry)[0]
        label = caption.source
        cut = label in shot.screen.cut
        shown = _find_shown_name(design, shot, caption)
        other, words = seen.setdefault((shot.language, shot.menu, shown), (shot.entry, label))
        if other == shot.entry or words == label or (shot.menu, shot.entry) in reported:
            continue
        if not (cut or len(shown) < len(label)) or not _can_show_together(subject, shot.menu, other, shot.entry):
            continue
        reported.add((shot.menu, shot.entry))
        message = f"“{words}” and “{label}” both show as “{shown}”{_describe_language(design, shot)}."
        _, trace = find_first_trace(subject, [shot], partial(_shows, shown))
        yield Finding("same-when-cut", shot.place, message, "Give them different short forms.", trace)


def _find_shown_name(design: Design, shot: Shot, label: CellText) -> str:
    """Return the part of an entry's name that is shown in its row."""
    row = shot.screen.rows[0].rstrip()
    panel = get_face(design, shot.language).panel
    if not isinstance(panel, CellPanel):
        return row
    row = row.removeprefix(panel.selected).strip("() ")
    if row.startswith(label.text):
        return label.text
    head, mark, _ = row.partition(panel.cut)
    return head + mark if label.source in shot.screen.cut and mark else " ".join(row.split("  ")[0].split())


def _can_show_together(subject: Subject, menu: str, one: int, other: int) -> bool:
    """Return whether a list can show two entries at the same time."""
    sites = subject.sites
    both = tuple(
        when
        for when in (sites.get_shown_condition(menu, one), sites.get_shown_condition(menu, other))
        if when != ALWAYS
    )
    if not both:
        return True
    condition = Resolved("all", parts=both)
    try:
        free = subject.get_searches(subject.build_cone(sites.of_menu[menu], (condition,))).free
    except TooLargeError:
        return True
    return any(free.get_states(site) & free.mask(condition) for site in sites.of_menu[menu])


def _find_hidden_cautions(subject: Subject, taken: tuple[Shot, ...]) -> Iterator[Finding]:
    """Find cautions that neither a question nor an editor shows in full."""
    design = subject.design
    for key, part in design.index.hazards.items():
        if part.confirm == "none" and isinstance(part, Action | Switch):
            continue  # no question could show it, which is another finding
        for language in range(len(design.languages)):
            caution = translate(design, language, part.hazard)
            about = [shot for shot in taken if shot.target == key and shot.language == language]
            if about and all(caution in shot.screen.cut for shot in about):
                where = _describe_language(design, about[0])
                words = f"The caution of “{key}” is not shown whole{where}: “{printable(caution)}”"
                place = f"{'actions' if isinstance(part, Action) else 'settings'}.{key}.hazard"
                advice = "Shorten it, or print it beside the knob and accept this finding."
                _, trace = find_first_trace(subject, about, partial(_is_cut, caution))
                yield Finding("hidden-caution", place, words, advice, trace)
                break


def _find_untranslated(design: Design) -> Iterator[Finding]:
    own = [text for path, text in walk_texts(design) if not _needs_no_translation(design, path, text)]
    for number, language in enumerate(design.languages[1:], 1):
        missing = [text for text in dict.fromkeys(own) if text not in design.index.translations[number]]
        if missing:
            first = ", ".join(f"“{text}”" for text in missing[:3])
            more = f" and {len(missing) - 3} more" if len(missing) > 3 else ""
            message = f"Not translated into {language}: {first}{more}."
            advice = f"Add them to [translations.{language}], with the same text where it stays as it is."
            yield Finding("untranslated", f"translations.{language}", message, advice)


_ASKED = {"wording.hold": "hold", "wording.yes": "ask", "wording.no": "ask"}
"""Texts of the wording that only a confirmation shows, and which confirmation."""


def _needs_no_translation(design: Design, path: str, text: str) -> bool:
    if path == "name":
        return bool(design.home.rows)
    if path in _ASKED:
        return all(part.confirm != _ASKED[path] for part in (*design.settings, *design.actions))
    unspoken = path.startswith((f"settings.{design.language}.options", "lamps.")) or path.endswith(".unit")
    return unspoken or not any(character.isalpha() for character in PLACEHOLDER.sub("", text))


def translate(design: Design, language: int, text: str) -> str:
    """Translate a text of the design into one of its languages; a text without a translation stays as it is.

    Args:
        design: The design.
        language: The language's index in `Design.languages`.
        text: A text of the design.
    """
    return design.index.translations[language].get(text, text)
