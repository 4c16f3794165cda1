"""Accepted findings are written with a header each, and into an existing text without touching the rest."""

from __future__ import annotations

import attrs

from knobmenu.design.acceptance import Accepted
from knobmenu.files import toml
from knobmenu.files.rewriting import update_text
from knobmenu.files.starter import read_starter

ACCEPTED = Accepted(finding="hidden-caution", place="settings.setpoint", reason="It is printed beside the knob.")


def test_an_accepted_finding_is_written_under_a_header_of_its_own() -> None:
    design = attrs.evolve(toml.loads(read_starter()), accepted=(ACCEPTED,))

    text = toml.dumps(design)

    assert '[[accepted]]\nfinding = "hidden-caution"\nplace = "settings.setpoint"\nreason = ' in text
    assert toml.loads(text) == design


def test_accepting_a_finding_leaves_the_text_above_as_it_is() -> None:
    text = read_starter()
    design = attrs.evolve(toml.loads(text), accepted=(ACCEPTED,))

    changed = update_text(text, design)

    assert changed.startswith(text)
    assert toml.loads(changed) == design
