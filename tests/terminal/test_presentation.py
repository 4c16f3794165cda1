"""In presentation only the device and its knob are shown, and nobody leaves by accident."""

from __future__ import annotations

from pathlib import Path

from tests.terminal.desk import at_desk

RADIO = Path(__file__).parents[2] / "demos" / "radio.toml"


async def test_one_key_shows_the_device_and_its_knob_alone_and_larger() -> None:
    async with at_desk([RADIO], (120, 40)) as hand:
        before = hand.desk.box("device-0")
        await hand.key("f10")

        assert hand.desk._plan is not None
        assert set(hand.desk._plan.boxes) == {"device-0", "knob"}
        presented = hand.desk.box("device-0")
        assert presented.columns * presented.rows >= before.columns * before.rows

        await hand.key("f10")
        assert hand.desk.box("device-0") == before
        assert hand.shows("footer")


async def test_the_keys_of_the_participant_turn_press_and_hold_and_no_others_do_anything() -> None:
    async with at_desk([RADIO], (120, 40)) as hand:
        await hand.key("f10", "right")
        assert "9" in hand.screen()[1]
        number = hand.desk.session.history.number

        await hand.key("q", "ctrl+q", "ctrl+c", "colon", "question_mark", "comma", "1", "f", "n", "s")

        assert hand.app.is_running
        assert hand.app.screen is hand.desk
        assert hand.desk.session.history.number == number
        assert not hand.desk.session.frozen

        await hand.key("space")
        assert "Station" in hand.screen()[0]


async def test_a_key_of_the_moderator_works_in_presentation() -> None:
    async with at_desk([RADIO], (120, 40)) as hand:
        await hand.key("f10", "f2")

        assert "▆" not in hand.screen()[0]
