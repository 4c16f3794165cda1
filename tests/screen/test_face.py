"""What a face keeps of its compositions: each is made once, and the memory that they take is bounded."""

from knobmenu.screen.face import MOST_KEPT, get_face
from tests.screen.drawing import glass, proofer


def test_a_composition_is_made_once_and_given_again() -> None:
    face, made = get_face(proofer(glass(16, 2)), 0), list[str]()

    def compose() -> str:
        made.append("composed")
        return "a row"

    assert [face.recall("one", compose), face.recall("other", compose), face.recall("one", compose)] == ["a row"] * 3
    assert len(made) == 2


def test_no_more_compositions_are_kept_than_the_bound() -> None:
    face = get_face(proofer(glass(16, 2)), 0)
    for name in range(2 * MOST_KEPT + 10):
        face.recall(name, lambda: "a row")
        assert len(face._kept) <= MOST_KEPT


def test_a_design_has_one_face_for_each_language() -> None:
    design = proofer(glass(16, 2))

    assert get_face(design, 0) is get_face(design, 0)


def test_a_text_of_which_nothing_can_be_shown_is_the_mark_of_a_missing_character() -> None:
    face = get_face(proofer(glass(16, 2)), 0)

    assert face.fit_caption("\u0301").text == face.panel.missing
    assert face.fit_caption("").text == ""
