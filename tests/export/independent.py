"""A device of its own, made from docs/reference/spec.md and the JSON of a spec alone.

Nothing of the project is imported. It is plain, mutable and slow, and follows the standard sentence by sentence; the
numbers in the comments are the standard's. Where it and the machine differ, one of the two texts is wrong.
"""

from __future__ import annotations

from typing import Any

Json = dict[str, Any]


class IndependentDevice:
    def __init__(self, spec: Json) -> None:
        self.spec = spec
        self.settings = spec["settings"]
        self.by_key = {part["key"]: part for name in ("settings", "actions", "menus") for part in spec[name]}
        self.row_of = {(row["mode"], row["event"], row["case"]): row for row in spec["transitions"]}
        self.rule_of = {(row["mode"], row["event"]): row["rule"] for row in spec["transitions"]}
        # 5.1, 5.3
        self.now = 0
        self.idle_from = 0
        self.values = [setting["initial"] for setting in self.settings]
        self.reports = [readout["initial"] for readout in spec["readouts"]]
        self.path: list[list[Any]] = []  # [menu key, entry]
        self.focus: Json | None = None
        self.last_used = {menu["key"]: 0 for menu in spec["menus"]}
        self.unsaved: set[str] = set()
        self.changed_at = 0
        self.effects: list[Json] = []

    def restore(self, memory: Json) -> None:
        """Begin with the values that were kept over power-off. (5.3)"""
        for key, value in memory.items():
            self.values[self.by_key[key]["position"]] = value
        while (pair := self.pair_in_wrong_order()) is not None:
            for position in pair:
                self.values[position] = self.settings[position]["initial"]
        self.unsaved = {key for key, value in memory.items() if value != self.value_of(key)}

    def value_of(self, key: str) -> Any:
        return self.values[self.by_key[key]["position"]]

    def pair_in_wrong_order(self) -> tuple[int, int] | None:
        for pair in self.spec["pairs"]:
            if self.values[pair["lower"]] > self.values[pair["upper"]]:
                return pair["lower"], pair["upper"]
        return None

    # 5.2

    @property
    def mode(self) -> str:
        if self.focus is not None:
            return str(self.focus["mode"])
        return "browsing" if self.path else "home"

    @property
    def about(self) -> str:
        if self.focus is not None:
            return str(self.focus["key"])
        return str(self.path[-1][0]) if self.path else ""

    # 8

    def take(self, event: Json) -> list[Json]:
        if event["at_ms"] < self.now:
            raise ValueError("time goes back")
        self.effects = []
        self.elapse(event["at_ms"])
        if event["event"] == "report":
            for index, readout in enumerate(self.spec["readouts"]):
                if readout["key"] == event["key"]:
                    self.reports[index] = event["value"]
            self.settle()
        elif event["event"] != "wait":
            self.transition(event)
            if self.unsaved and self.spec["timing"]["save_after_ms"] == 0:
                self.save()
        self.now = event["at_ms"]
        return self.effects

    def elapse(self, until: int) -> None:
        timing = self.spec["timing"]
        while True:
            save_at = idle_at = None
            if self.unsaved:
                save_at = self.changed_at + timing["save_after_ms"]
            if timing["idle_after_ms"] and self.mode != "home":
                idle_at = self.idle_from + timing["idle_after_ms"]
            if save_at is not None and save_at <= until and (idle_at is None or save_at <= idle_at):
                self.save()
            elif idle_at is not None and idle_at <= until:
                self.transition({"event": "idle", "at_ms": idle_at})
            else:
                return

    def save(self) -> None:
        editing = self.focus is not None and self.focus["mode"] == "editing"
        values = self.focus["before"] if self.focus and editing else self.values
        for setting in self.settings:
            if setting["key"] in self.unsaved:
                self.tell("save", key=setting["key"], value=values[setting["position"]])
        self.unsaved = set()

    def transition(self, event: Json) -> None:
        first, before, screen = len(self.effects), self.picture(), (self.mode, self.about)
        rule = self.rule_of[self.mode, event["event"]]
        case = getattr(self, f"rule_{rule}")(event)
        row = self.row_of[self.mode, event["event"], case]
        getattr(self, f"action_{row['action']}")(event)
        self.settle()
        assert self.mode in row["ends_in"]
        if (self.mode, self.about) != screen:
            self.tell("screen", mode=self.mode, key=self.about)
        self.answer(event, self.picture() != before, first)
        self.idle_from = event["at_ms"]

    def picture(self) -> str:
        return repr((self.values, self.path, self.focus, self.last_used, sorted(self.unsaved)))

    def tell(self, word: str, **fields: Any) -> None:
        self.effects.append({"effect": word, **fields})

    # 10.3

    def answer(self, event: Json, changed: bool, first: int) -> None:
        by_effect = {
            "refused": "refused",
            "limit": "limit",
            "action": "action",
            "committed": "commit",
            "reverted": "revert",
        }
        happened = {by_effect[effect["effect"]] for effect in self.effects[first:] if effect["effect"] in by_effect}
        by_event = {"turn": "turn", "held": "turn", "press": "press", "long": "long_press"}
        if changed and event["event"] in by_event:
            happened.add(by_event[event["event"]])
        for word in self.spec["most_telling"]:
            tones = [tone for tone in self.spec["tones"] if word in tone["answers"]]
            if word in happened and tones:
                self.tell("sound", answers=word, length_ms=tones[0]["length_ms"], pitch_hz=tones[0]["pitch_hz"])
                break
        for lamp in self.spec["lamps"]:
            if set(lamp["answers"]) & happened:
                self.tell("flash", lamp=lamp["key"], length_ms=lamp["flash_ms"])

    # 7

    def holds(self, condition: Json | None) -> bool:
        if condition is None:
            return True
        operator = condition["operator"]
        if operator == "all":
            return all(self.holds(part) for part in condition["parts"])
        if operator == "any":
            return any(self.holds(part) for part in condition["parts"])
        if operator == "not":
            return not self.holds(condition["parts"][0])
        value = (self.values + self.reports)[condition["position"]]
        wanted = condition["value"]
        return bool(
            {
                "equal": value == wanted,
                "unequal": value != wanted,
                "less": value < wanted,
                "at_least": value >= wanted,
            }[operator]
        )

    def lamps_lit(self) -> list[bool]:
        return [lamp["lit_if"] is not None and self.holds(lamp["lit_if"]) for lamp in self.spec["lamps"]]

    # 8.5

    def shown(self, menu: str) -> list[int]:
        return [index for index, entry in enumerate(self.by_key[menu]["entries"]) if self.holds(entry["shown_if"])]

    def nearest_shown(self, menu: str, entry: int) -> int:
        shown = self.shown(menu)
        after = [index for index in shown if index >= entry]
        before = [index for index in shown if index < entry]
        return after[0] if after else before[-1] if before else -1

    def settle(self) -> None:
        if self.focus is None and self.path:
            menu, entry = self.path[-1]
            self.path[-1] = [menu, self.nearest_shown(menu, entry)]

    # 9.1

    def target(self, event: Json) -> Json | None:
        if self.focus is not None and self.focus["mode"] != "editing":
            return dict(self.focus["target"])
        if self.path:
            menu, entry = self.path[-1]
            return dict(self.by_key[menu]["entries"][entry])
        field = {"held": "held_turn", "long": "long_press", "double": "double_press"}
        found = self.spec["home"][field.get(event["event"], event["event"])]
        return None if found is None else dict(found)

    def enabled(self) -> bool:
        if not self.path:
            return True
        menu, entry = self.path[-1]
        row = self.by_key[menu]["entries"][entry]
        return self.holds(row["shown_if"]) and self.holds(row["enabled_if"])

    def pressed(self, target: Json) -> str:
        if target["kind"] in ("menu", "readout", "back"):
            return {"menu": "open", "readout": "read", "back": "leave"}[target["kind"]]
        confirm = self.by_key[target["key"]]["confirm"]
        return self.confirmed(target) if confirm == "none" else str(confirm)

    def confirmed(self, target: Json) -> str:
        if target["kind"] == "action":
            return "run"
        return "toggle" if self.by_key[target["key"]]["kind"] == "switch" else "edit"

    # 9.2

    def rule_always(self, event: Json) -> str:
        return "always"

    def rule_home_turn(self, event: Json) -> str:
        return "adjust" if self.target(event) else "nothing"

    def rule_home_press(self, event: Json) -> str:
        target = self.target(event)
        return self.pressed(target) if target else "nothing"

    def rule_list_turn(self, event: Json) -> str:
        return "empty" if self.path[-1][1] == -1 else "move"

    def rule_list_press(self, event: Json) -> str:
        if self.path[-1][1] == -1:
            return "leave"
        target = self.target(event)
        assert target
        return self.pressed(target) if self.enabled() else "refused"

    def rule_list_long_press(self, event: Json) -> str:
        return {"back": "leave", "home": "go_home", "nothing": "nothing"}[self.spec["gestures"]["long_press"]]

    def rule_list_double_press(self, event: Json) -> str:
        return {"back": "leave", "home": "go_home", "nothing": "nothing"}[self.spec["gestures"]["double_press"]]

    def rule_edit_press(self, event: Json) -> str:
        assert self.focus
        setting = self.by_key[self.focus["key"]]
        if setting["kind"] != "text":
            return "next" if self.focus["place"] < self.parts(setting) - 1 else "commit"
        beyond = self.focus["pick"] - len(setting["characters"])
        if beyond >= 0:
            return "commit" if beyond == 1 else "delete"
        room = setting["longest"] - len(self.focus["draft"])
        return {0: "full", 1: "fill"}.get(room, "take")

    def rule_edit_held_turn(self, event: Json) -> str:
        assert self.focus
        return "parts" if self.by_key[self.focus["key"]]["kind"] in ("clock", "digits") else "always"

    def rule_edit_long_press(self, event: Json) -> str:
        assert self.focus
        return str(self.by_key[self.focus["key"]]["on_long_press"])

    def rule_edit_idle(self, event: Json) -> str:
        assert self.focus
        home = "_home" if self.spec["timing"]["idle_to"] == "home" else ""
        return f"{self.by_key[self.focus['key']]['on_idle']}{home}"

    def rule_answer(self, event: Json) -> str:
        assert self.focus
        return self.rule_held(event) if self.focus["yes"] else "decline"

    def rule_held(self, event: Json) -> str:
        target = self.target(event)
        assert target
        return self.confirmed(target) if self.enabled() else "refused"

    def rule_idle(self, event: Json) -> str:
        return "go_home" if self.spec["timing"]["idle_to"] == "home" else "leave"

    # 9.3: walking

    def action_nothing(self, event: Json) -> None:
        pass

    def action_refuse(self, event: Json) -> None:
        target = self.target(event)
        assert target
        self.tell("refused", key=target["key"])
        self.focus = None

    def action_move(self, event: Json) -> None:
        menu, entry = self.path[-1]
        shown = self.shown(menu)
        detents = event["detents"]
        if event["event"] == "held":
            detents *= max(self.spec["display"]["rows"], 2)
        wanted = shown.index(entry) + detents
        if self.by_key[menu]["wraps"]:
            wanted %= len(shown)
        elif not 0 <= wanted < len(shown):
            self.tell("limit", key=menu, end="high" if detents > 0 else "low")
            wanted = len(shown) - 1 if detents > 0 else 0
        self.path[-1] = [menu, shown[wanted]]

    def action_open_menu(self, event: Json) -> None:
        target = self.target(event)
        assert target
        menu = target["key"]
        start = self.last_used[menu] if self.by_key[menu]["reopens"] == "last-used" else 0
        self.path.append([menu, self.nearest_shown(menu, start)])

    def leave_one(self) -> None:
        menu, entry = self.path.pop()
        if entry >= 0 and self.by_key[menu]["reopens"] == "last-used":
            self.last_used[menu] = entry

    def action_leave(self, event: Json) -> None:
        self.leave_one()

    def action_go_home(self, event: Json) -> None:
        while self.path:
            self.leave_one()
        self.focus = None

    def action_close(self, event: Json) -> None:
        self.focus = None

    # 9.3: confirming and doing

    def action_ask(self, event: Json) -> None:
        target = self.target(event)
        assert target
        self.focus = {"mode": "asking", "key": target["key"], "target": target, "yes": False}

    def action_want_hold(self, event: Json) -> None:
        target = self.target(event)
        assert target
        self.focus = {"mode": "holding", "key": target["key"], "target": target}

    def action_choose(self, event: Json) -> None:
        assert self.focus
        self.focus["yes"] = event["detents"] > 0

    def action_run(self, event: Json) -> None:
        target = self.target(event)
        assert target
        action = self.by_key[target["key"]]
        self.tell("action", key=action["key"])
        self.focus = None
        if action["then"] == "back" and self.path:
            self.leave_one()
        if action["then"] == "home":
            self.action_go_home(event)

    def action_toggle(self, event: Json) -> None:
        target = self.target(event)
        assert target
        self.focus = None
        position = self.by_key[target["key"]]["position"]
        self.keep(position, 1 - self.values[position], event)

    def action_adjust(self, event: Json) -> None:
        target = self.target(event)
        assert target
        setting = self.by_key[target["key"]]
        before = self.values[setting["position"]]
        value = self.turned(setting, before, event)
        if value != before:
            self.keep(setting["position"], value, event)

    def keep(self, position: int, value: Any, event: Json) -> None:
        before = list(self.values)
        self.assign(position, value)
        self.tell_changes(before)
        self.tell("committed", key=self.settings[position]["key"], value=self.values[position])
        self.mark_unsaved(before, event)

    # 10.1

    def tell_changes(self, before: list[Any]) -> None:
        for setting, was, value in zip(self.settings, before, self.values, strict=True):
            if was != value:
                self.tell("changed", key=setting["key"], value=value)

    def mark_unsaved(self, before: list[Any], event: Json) -> None:
        for setting, was, value in zip(self.settings, before, self.values, strict=True):
            if was != value and setting["saved"]:
                self.unsaved.add(setting["key"])
                self.changed_at = event["at_ms"]

    # 9.4

    def at_most(self, setting: Json, value: int) -> int:
        if setting["kind"] == "scale":
            return int(max(step for step in setting["values"] if step <= value))
        return int(value - (value - setting["low"]) % setting["step"])

    def at_least(self, setting: Json, value: int) -> int:
        if setting["kind"] == "scale":
            return int(min(step for step in setting["values"] if step >= value))
        return int(value + (setting["low"] - value) % setting["step"])

    def assign(self, position: int, value: Any) -> None:
        rose, fell = self.values[position] < value, value < self.values[position]
        self.values[position] = value
        for pair in self.spec["pairs"] if rose else reversed(self.spec["pairs"]) if fell else ():
            lower, upper = self.values[pair["lower"]], self.values[pair["upper"]]
            if lower > upper and rose:
                self.values[pair["upper"]] = self.at_least(self.settings[pair["upper"]], lower)
            elif lower > upper:
                self.values[pair["lower"]] = self.at_most(self.settings[pair["lower"]], upper)

    # 9.5

    def turned(self, setting: Json, value: int, event: Json) -> int:
        steps = event["detents"]
        if event["event"] == "held":
            steps *= 10 if setting["kind"] in ("number", "scale") else 1
        elif setting.get("accelerates"):
            steps *= event["times"]
        end = "high" if event["detents"] > 0 else "low"
        kind = setting["kind"]
        if kind == "switch":
            new = 1 if steps > 0 else 0
            if new == value:
                self.tell("limit", key=setting["key"], end=end)
            return new
        if kind == "number":
            return self.turned_number(setting, value, steps, end)
        if kind == "digits":
            new = min(max(value + steps, setting["low"]), setting["high"])
            if new != value + steps:
                self.tell("limit", key=setting["key"], end=end)
            return int(new)
        if kind == "scale":
            low, high = setting["low"], setting["high"]
            if setting["low_from"] is not None:
                low = max(low, self.values[setting["low_from"]])
            if setting["high_from"] is not None:
                high = min(high, self.values[setting["high_from"]])
            values = [step for step in setting["values"] if low <= step <= high]
        else:
            values = list(range(len(setting["options"])))
        place = values.index(value) + steps
        if setting["wraps"]:
            return int(values[place % len(values)])
        if not 0 <= place < len(values):
            self.tell("limit", key=setting["key"], end=end)
            place = len(values) - 1 if steps > 0 else 0
        return int(values[place])

    def turned_number(self, setting: Json, value: int, steps: int, end: str) -> int:
        low, high, step = setting["low"], setting["high"], setting["step"]
        if setting["low_from"] is not None and self.values[setting["low_from"]] > low:
            low = self.at_least(setting, self.values[setting["low_from"]])
        if setting["high_from"] is not None and self.values[setting["high_from"]] < high:
            high = self.at_most(setting, self.values[setting["high_from"]])
        place, last = (value - low) // step + steps, (high - low) // step
        if setting["wraps"]:
            return int(low + place % (last + 1) * step)
        if not 0 <= place <= last:
            self.tell("limit", key=setting["key"], end=end)
            place = last if steps > 0 else 0
        return int(low + place * step)

    # 9.3: editing

    def action_edit(self, event: Json) -> None:
        target = self.target(event)
        assert target
        position = self.by_key[target["key"]]["position"]
        self.focus = {
            "mode": "editing",
            "key": target["key"],
            "draft": self.values[position],
            "before": list(self.values),
            "place": 0,
            "pick": 0,
        }

    def parts(self, setting: Json) -> int:
        return {"clock": lambda: len(setting["fields"]), "digits": lambda: int(setting["places"])}.get(
            setting["kind"], lambda: 1
        )()

    def draft(self, value: Any) -> None:
        assert self.focus
        if value == self.focus["draft"]:
            return
        self.focus["draft"] = value
        setting = self.by_key[self.focus["key"]]
        if setting["applies"] == "live":
            before = list(self.values)
            self.assign(setting["position"], value)
            self.tell_changes(before)

    def action_change(self, event: Json) -> None:
        assert self.focus
        setting, value = self.by_key[self.focus["key"]], self.focus["draft"]
        if setting["kind"] == "text":
            detents = event["detents"] * (10 if event["event"] == "held" else 1)
            self.focus["pick"] = (self.focus["pick"] + detents) % (len(setting["characters"]) + 2)
        elif setting["kind"] == "clock":
            field = setting["fields"][self.focus["place"]]
            old = value // field["weight"] % field["size"]
            new = (old + event["detents"]) % field["size"]
            self.draft(value + (new - old) * field["weight"])
        elif setting["kind"] == "digits":
            wanted = value + event["detents"] * 10 ** (setting["places"] - 1 - self.focus["place"])
            new = min(max(wanted, setting["low"]), setting["high"])
            if new != wanted:
                self.tell("limit", key=setting["key"], end="high" if event["detents"] > 0 else "low")
            self.draft(new)
        else:
            self.draft(self.turned(setting, value, event))

    def action_next_place(self, event: Json) -> None:
        assert self.focus
        self.focus["place"] += 1

    def action_move_place(self, event: Json) -> None:
        assert self.focus
        last = self.parts(self.by_key[self.focus["key"]]) - 1
        self.focus["place"] = min(max(self.focus["place"] + event["detents"], 0), last)

    def action_take_character(self, event: Json) -> None:
        assert self.focus
        setting = self.by_key[self.focus["key"]]
        sign = setting["characters"][self.focus["pick"]]
        if setting["after_each"] == "first":
            self.focus["pick"] = 0
        self.draft(self.focus["draft"] + sign)

    def action_delete_character(self, event: Json) -> None:
        assert self.focus
        if self.focus["draft"]:
            self.draft(self.focus["draft"][:-1])
        else:
            self.tell("limit", key=self.focus["key"], end="low")

    def action_text_full(self, event: Json) -> None:
        assert self.focus
        self.tell("limit", key=self.focus["key"], end="high")

    def action_fill_and_commit(self, event: Json) -> None:
        self.action_take_character(event)
        self.action_commit(event)

    def action_commit(self, event: Json) -> None:
        assert self.focus
        setting, before = self.by_key[self.focus["key"]], list(self.values)
        self.assign(setting["position"], self.focus["draft"])
        self.tell_changes(before)
        self.tell("committed", key=setting["key"], value=self.focus["draft"])
        self.mark_unsaved(self.focus["before"], event)
        self.focus = None

    def action_revert(self, event: Json) -> None:
        assert self.focus
        setting, before = self.by_key[self.focus["key"]], list(self.values)
        self.values = list(self.focus["before"])
        self.tell_changes(before)
        self.tell("reverted", key=setting["key"], value=self.values[setting["position"]])
        self.focus = None

    def action_commit_and_go_home(self, event: Json) -> None:
        self.action_commit(event)
        self.action_go_home(event)

    def action_revert_and_go_home(self, event: Json) -> None:
        self.action_revert(event)
        self.action_go_home(event)
