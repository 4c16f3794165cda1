"""What does not fit the display: cut texts, missing characters, missing translations, cautions that nobody sees."""

from __future__ import annotations

from collections.abc import Iterator

from knobmenu.analysis.abstraction import TooLargeError
from knobmenu.analysis.check.findings import Finding
from knobmenu.analysis.check.screens import Shot, shots
from knobmenu.analysis.check.showing import first_trace
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
from knobmenu.screen.characters import CellText
from knobmenu.screen.face import get_face
from knobmenu.screen.lists import fit_captions
from knobmenu.screen.panel import CellPanel


def fit_findings(subject: Subject) -> Iterator[Finding]:
    """Check every screen in every language."""
    taken = tuple(shots(subject.design))
    yield from _cut(subject, taken)
    yield from _find_replaced(subject, taken)
    yield from _same(subject, taken)
    yield from _cautions(subject, taken)
    yield from _find_untranslated(subject.design)


def _cut(subject: Subject, taken: tuple[Shot, ...]) -> Iterator[Finding]:
    design = subject.design
    on_segments = isinstance(design.display, SegmentDisplay)
    cautions = {
        translate(design, language, part.hazard)
        for part in design.index.hazards.values()
        for language in range(len(design.languages))
    }
    found: dict[tuple[int, str], list[Shot]] = {}
    for shot in taken:
        # Seven segments ask with the answer alone; no question has room, however short it is.
        if not (on_segments and shot.target and shot.value is None):
            for text in shot.screen.cut:
                if text not in cautions:
                    found.setdefault((shot.language, text), []).append(shot)
    for (_, text), shown in found.items():
        shot, trace = first_trace(subject, shown, lambda screen, text=text: text in screen.cut)  # type: ignore[misc]
        words = f"“{printable(text)}” does not fit{_spoken(design, shot)}: it is shown as “{_describe_rows(shot)}”."
        advice = "Shorten it, give it a short form, or show it on a larger display."
        yield Finding("cut-text", _place(design, shot, text), words, advice, trace)


def _spoken(design: Design, shot: Shot) -> str:
    return f" in {design.languages[shot.language]}" if len(design.languages) > 1 else ""


def _describe_rows(shot: Shot) -> str:
    return " / ".join(" ".join(row.split()) for row in shot.screen.rows if row.strip())


def _place(design: Design, shot: Shot, text: str) -> str:
    """Return where a shown text is written: its own field, its translation, or what shows it."""
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
        missing = [sign for sign in shot.screen.replaced if (shot.language, sign) not in found]
        if missing:
            found.update((shot.language, sign) for sign in missing)
            signs = ", ".join(f"“{printable(sign)}”" for sign in missing)
            what = "Seven segments cannot show" if rule == "segment-letters" else "The display does not have"
            message = f"{what} {signs}{_spoken(design, shot)}: “{_describe_rows(shot)}” is shown."
            advice = "Reword it, give it a short form in other characters, or add a glyph where the display takes any."
            _, trace = first_trace(subject, [shot], lambda screen, signs=missing: set(signs) <= set(screen.replaced))  # type: ignore[misc]
            yield Finding(rule, shot.place, message, advice, trace)


def _same(subject: Subject, taken: tuple[Shot, ...]) -> Iterator[Finding]:
    """Find entries of one list whose names differ, and look the same once they are cut."""
    design = subject.design
    seen: dict[tuple[int, str, str], tuple[int, str]] = {}
    told: set[tuple[str, int]] = set()
    for shot in taken:
        if not shot.menu or shot.target or shot.value is not None:
            continue
        caption = fit_captions(get_face(design, shot.language), shot.menu, shot.entry)[0]
        label = caption.source
        cut = label in shot.screen.cut
        shown = _name_shown(design, shot, caption)
        other, words = seen.setdefault((shot.language, shot.menu, shown), (shot.entry, label))
        if other == shot.entry or words == label or (shot.menu, shot.entry) in told:
            continue
        if not (cut or len(shown) < len(label)) or not _together(subject, shot.menu, other, shot.entry):
            continue
        told.add((shot.menu, shot.entry))
        message = f"“{words}” and “{label}” both show as “{shown}”{_spoken(design, shot)}."
        _, trace = first_trace(subject, [shot], lambda screen, shown=shown: any(shown in row for row in screen.rows))  # type: ignore[misc]
        yield Finding("same-when-cut", shot.place, message, "Give them different short forms.", trace)


def _name_shown(design: Design, shot: Shot, label: CellText) -> str:
    """Return what of an entry's name is shown in its row."""
    row = shot.screen.rows[0].rstrip()
    panel = get_face(design, shot.language).panel
    if not isinstance(panel, CellPanel):
        return row
    row = row.removeprefix(panel.selected).strip("() ")
    if row.startswith(label.text):
        return label.text
    head, mark, _ = row.partition(panel.cut)
    return head + mark if label.source in shot.screen.cut and mark else " ".join(row.split("  ")[0].split())


def _together(subject: Subject, menu: str, one: int, other: int) -> bool:
    """Return whether a list can show two entries at the same time."""
    sites = subject.sites
    both = tuple(when for when in (sites.shown_when(menu, one), sites.shown_when(menu, other)) if when != ALWAYS)
    if not both:
        return True
    condition = Resolved("all", parts=both)
    try:
        free = subject.searches(subject.cone(sites.of_menu[menu], (condition,))).free
    except TooLargeError:
        return True
    return any(free.at(site) & free.mask(condition) for site in sites.of_menu[menu])


def _cautions(subject: Subject, taken: tuple[Shot, ...]) -> Iterator[Finding]:
    """Find cautions that no question and no editor shows whole."""
    design = subject.design
    for key, part in design.index.hazards.items():
        if part.confirm == "none" and isinstance(part, Action | Switch):
            continue  # nothing asks, so nothing could show it: another finding
        for language in range(len(design.languages)):
            caution = translate(design, language, part.hazard)
            about = [shot for shot in taken if shot.target == key and shot.language == language]
            if about and all(caution in shot.screen.cut for shot in about):
                words = f"The caution of “{key}” is not shown whole{_spoken(design, about[0])}: “{printable(caution)}”"
                place = f"{'actions' if isinstance(part, Action) else 'settings'}.{key}.hazard"
                advice = "Shorten it, or print it beside the knob and accept this finding."
                _, trace = first_trace(subject, about, lambda screen, text=caution: text in screen.cut)  # type: ignore[misc]
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
"""The words of the machine that only a confirmation shows, and which one."""


def _needs_no_translation(design: Design, path: str, text: str) -> bool:
    if path == "name":
        return bool(design.home.rows)
    if path in _ASKED:
        return all(part.confirm != _ASKED[path] for part in (*design.settings, *design.actions))
    unspoken = path.startswith((f"settings.{design.language}.options", "lamps.")) or path.endswith(".unit")
    return unspoken or not any(sign.isalpha() for sign in PLACEHOLDER.sub("", text))


def translate(design: Design, language: int, text: str) -> str:
    """Return a text of the design in one of its languages; in the design's own words where it has no translation.

    Args:
        design: Whose text.
        language: The language's place in `Design.languages`.
        text: As the design has it.
    """
    return design.index.translations[language].get(text, text)
