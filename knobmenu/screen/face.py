"""A design's face: its texts in one language, fitted to its display.

Texts are translated, fitted to the display's characters and measured here, once. Layouts use only what a face returns,
so a row depends on cells alone. The face caches what was composed, and the design caches its faces.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from typing import TYPE_CHECKING, NamedTuple, TypeVar

import attrs

from knobmenu.design.texts import PLACEHOLDER
from knobmenu.screen.characters import EMPTY, CellText
from knobmenu.screen.panel import Panel, make_panel

if TYPE_CHECKING:
    from knobmenu.design.whole import Design

MOST_KEPT = 8192
"""The greatest number of compositions that a face caches; then it empties the cache."""

Composed = TypeVar("Composed")


class Template(NamedTuple):
    """A text that contains values: fitted texts, and the keys of the values between them."""

    texts: tuple[CellText, ...]
    """The fitted texts, one more than there are keys."""
    keys: tuple[str, ...]
    """The key whose value follows each text but the last."""


@attrs.frozen(eq=False)
class Face:
    """The texts of a design in one language, fitted to its display."""

    design: Design
    translations: Mapping[str, str]
    """From texts of the design to this language; a text that is missing stays as it is."""
    panel: Panel
    """The display."""
    _kept: dict[Hashable, object] = attrs.field(factory=dict, repr=False)

    def recall(self, what: Hashable, compose: Callable[[], Composed]) -> Composed:
        """Return what was composed before under the same name, or else compose it now.

        Args:
            what: The name of the composition: everything that it depends on besides the face.
            compose: Composes it.
        """
        kept = self._kept.get(what)
        if kept is None:
            kept = compose()
            if len(self._kept) >= MOST_KEPT:
                self._kept.clear()
            self._kept[what] = kept
        return kept  # type: ignore[return-value]  # a name is used for one kind of thing

    def translate(self, text: str) -> str:
        """Return a text of the design in this language."""
        return self.translations.get(text, text)

    def fit_caption(self, text: str) -> CellText:
        """Fit a text of the design to the display, in this language.

        The result neither begins nor ends with a blank, and is not empty unless the text is.
        """
        return self.recall(("caption", text), lambda: self._fit_caption(text)) if text else EMPTY

    def _fit_caption(self, text: str) -> CellText:
        fitted = self.panel.fit(self.translate(text))
        shown = fitted.text.strip()
        return fitted._replace(text=shown or (self.panel.missing if fitted.source else ""))

    def fit_suffix(self, unit: str) -> CellText:
        """Fit what follows a number with this unit: the unit, after a blank unless it is one of `UNSPACED`."""
        return self.recall(("suffix", unit), lambda: self._fit_suffix(unit)) if unit else EMPTY

    def _fit_suffix(self, unit: str) -> CellText:
        fitted = self.panel.fit_unit(self.translate(unit))
        text = fitted.text.strip()
        return fitted._replace(text=text if not text or text in UNSPACED else f" {text}")

    def fit_template(self, text: str) -> Template:
        """Fit a text that contains ``{key}``; each piece is fitted by itself."""
        return self.recall(("template", text), lambda: self._fit_template(text))

    def _fit_template(self, text: str) -> Template:
        pieces = PLACEHOLDER.split(self.translate(text))
        return Template(tuple([self.panel.fit(piece) for piece in pieces[::2]]), tuple(pieces[1::2]))


UNSPACED = ("°", "′", "″", "'", '"')
"""Degree, minute and second of arc, as displays show them; these units follow a number without a blank.

Bureau international des poids et mesures, "The International System of Units", 9th edition, 5.4.3.
"""


def get_face(design: Design, language: int) -> Face:
    """Return the face of a design.

    Args:
        design: The device's design.
        language: The index of the language among the design's languages.
    """
    faces = design.index.faces
    face: Face | None = faces.get(language)
    if face is None:
        face = faces[language] = Face(design, design.index.translations[language], make_panel(design.display))
    return face
