"""Parts of study files about the amplifier of `tests.review.designs`."""

from __future__ import annotations


def volume_and_light(volume: int, give_up_s: int) -> str:
    """Write two tasks: to turn the volume up to 12, and to switch the light off.

    Args:
        volume: where the first begins.
        give_up_s: how long the first may take. [s]
    """
    return f"""\
[tasks.louder]
text = "Set the volume to 12."
start = {{ volume = {volume} }}
done = {{ equal = ["volume", 12] }}
give_up_s = {give_up_s}

[tasks.dark]
text = "Switch the light off."
start = {{ light = true }}
done = {{ equal = ["light", false] }}
"""
