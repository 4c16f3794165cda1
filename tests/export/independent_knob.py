"""A knob of its own, made from Annex A of docs/reference/spec.md alone; nothing of the project is imported."""

from __future__ import annotations

from typing import Any

Json = dict[str, Any]

ORDER = [0, 2, 3, 1]  # A.1


class IndependentDecoder:
    def __init__(self, knob: Json, code: int) -> None:
        self.sign = 1 if knob["clockwise"] == "up" else -1
        self.apart = 4 // knob["detents_per_period"]
        self.count = {0: 0, 2: 1, 3: 2, 1: -1}[code]
        self.rest = self.count if self.count % self.apart == 0 else 0
        self.direction, self.code, self.invalid = 1, code, 0

    def read(self, code: int) -> int:
        moved = (ORDER.index(code) - ORDER.index(self.code)) % 4
        self.code = code
        if moved == 1:
            self.direction = 1
            self.count += 1
        elif moved == 3:
            self.direction = -1
            self.count -= 1
        elif moved == 2:
            self.invalid += 1
            self.count += 2 * self.direction
        detents = 0
        while self.count >= self.rest + self.apart:
            self.rest += self.apart
            detents += 1
        while self.count <= self.rest - self.apart:
            self.rest -= self.apart
            detents -= 1
        return detents * self.sign


class IndependentButton:
    """Plays the whole story of a switch in steps of one millisecond."""

    def __init__(self, knob: Json) -> None:
        self.knob = knob
        self.events: list[Json] = []
        self.level = self.accepted = False
        self.level_since = 0
        self.pressed_at: int | None = None  # of a press that has not told anything yet
        self.first_released_at: int | None = None  # of a short press that waits for a second one
        self.second = False

    def tell(self, word: str, at: int, **fields: Any) -> None:
        self.events.append({"event": word, "at_ms": at, **fields})

    def tick(self, now: int) -> None:
        """Do what is due by time at this moment."""
        if self.pressed_at is not None and now == self.pressed_at + self.knob["long_press_ms"]:
            if self.second:
                self.tell("press", now)
                self.first_released_at = None
            self.tell("long", now)
            self.pressed_at, self.second = None, False
        waited = self.first_released_at
        if waited is not None and not self.second and now == waited + self.knob["double_press_ms"]:
            self.tell("press", now)
            self.first_released_at = None
        if self.level != self.accepted and now >= self.level_since + self.knob["debounce_ms"]:
            self.accept(now)

    def accept(self, now: int) -> None:
        self.accepted = self.level
        if self.accepted:
            self.pressed_at = now
            self.second = self.first_released_at is not None
            return
        if self.pressed_at is None:
            return
        self.pressed_at = None
        if self.second:
            self.tell("double", now)
            self.second, self.first_released_at = False, None
        elif self.knob["double_press_ms"]:
            self.first_released_at = now
        else:
            self.tell("press", now)

    def change(self, level: bool, now: int) -> None:
        if level != self.level:
            self.level, self.level_since = level, now
        self.tick(now)

    def turn(self, detents: int, now: int) -> None:
        if self.first_released_at is not None:
            self.tell("press", now)
            self.first_released_at, self.second = None, False
        if self.accepted and self.knob["turns_while_held"]:
            self.pressed_at = None
            self.tell("held", now, detents=detents)
        else:
            self.tell("turn", now, detents=detents, times=1)


class IndependentAcceleration:
    def __init__(self, knob: Json) -> None:
        self.rules = knob["acceleration"]
        self.last: tuple[bool, int] | None = None

    def times(self, detents: int, now: int) -> int:
        before, self.last = self.last, (detents > 0, now)
        if before is None or before[0] != (detents > 0):
            return 1
        fast = [rule for rule in self.rules if now - before[1] < rule["faster_than_ms"] * abs(detents)]
        return int(fast[0]["times"]) if fast else 1
