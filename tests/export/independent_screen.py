"""What a display shows, made from section 11 of docs/reference/spec.md and the JSON of a spec alone.

Nothing of the project is imported. It is slow and follows the standard sentence by sentence; the numbers in the
comments are the standard's. Where it and the project's screens differ, one of the two texts is wrong.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from tests.export.independent import IndependentDevice

Json = dict[str, Any]


class Shown(NamedTuple):
    """A screen: its rows, the cells that blink, and the cells whose point is lit, each as (row, cell)."""

    rows: list[str]
    blinking: set[tuple[int, int]]
    points: set[tuple[int, int]]


class Value(NamedTuple):
    """A value (11.4): its forms, and which characters of its bare longest form are at hand."""

    forms: list[str]
    words: bool
    first: int = 0
    beyond: int = 0
    source: str = ""  # the text of the document that it stands for, if it is one


NO_VALUE = Value([""], True)


class IndependentDisplay:
    def __init__(self, device: IndependentDevice) -> None:
        self.device = device
        self.spec = device.spec
        self.display = self.spec["display"]
        self.columns: int = self.display["columns"]
        self.rows: int = self.display["rows"]
        self.marks = self.display.get("marks", {})
        self.cells_of = {text["text"]: text["cells"] for text in self.spec["texts"]}
        self.in_of = {text["text"]: text["in"] for text in self.spec["texts"]}
        self.suffix_of = {unit["unit"]: unit["suffix"] for unit in self.spec["units"]}
        self.lacking = {one["character"] for one in self.display["replaced"]}

    # 11.1

    def screen(self) -> Shown:
        self.lines = [" " * self.columns] * self.rows
        self.blinking: set[tuple[int, int]] = set()
        self.points: set[tuple[int, int]] = set()
        if self.display["kind"] == "segments":
            self.on_segments()
        elif self.device.mode == "home":
            self.home()
        elif self.device.mode == "browsing":
            self.browsing()
        elif self.device.mode == "editing":
            self.editing()
        else:
            self.asking_or_holding()
        return Shown(self.lines, self.blinking, self.points)

    def put(self, row: int, line: str, first: int = 0, beyond: int = 0) -> None:
        assert len(line) == self.columns, line
        self.lines[row] = line
        self.blinking |= {(row, cell) for cell in range(first, beyond)}

    # 11.2

    @property
    def language(self) -> str:
        position = self.spec["language_from"]
        return str(self.spec["languages"][0 if position is None else self.device.values[position]])

    def text(self, text: str) -> str:
        return str(self.cells_of[text][self.language]) if text else ""

    def width(self, text: str) -> int:
        return len(self.lay_out(text)[0]) if self.display["kind"] == "segments" else len(text)

    def text_cells(self, setting: Json, text: str) -> list[str]:
        return [setting["cells"][setting["characters"].index(character)] for character in text]

    def right(self, text: str, cells: int) -> str:
        return " " * (cells - self.width(text)) + text

    # 11.3

    def cut(self, text: str, cells: int) -> str:
        if len(text) <= cells:
            return text
        if cells < 3:
            return text[: max(cells, 0)]
        return text[: cells - 1].rstrip(" .,:;-") + str(self.marks["cut"])

    def wrap(self, text: str, most: int) -> list[str]:
        if most == 0 or not text:
            return []
        if len(text) <= self.columns or most == 1:
            return [self.cut(text, self.columns).ljust(self.columns)]
        blanks = [place for place in range(1, self.columns + 1) if text[place] == " "]
        place = blanks[-1] if blanks else self.columns
        return [text[:place].rstrip(" ").ljust(self.columns), *self.wrap(text[place:].lstrip(" "), most - 1)]

    # 11.4

    def number(self, value: int, decimals: int, places: int = 0) -> str:
        digits = str(abs(value)).rjust(max(places, decimals + 1), "0")
        if decimals:
            digits = digits[: len(digits) - decimals] + "." + digits[len(digits) - decimals :]
        return ("-" if value < 0 else "") + digits

    def suffix(self, part: Json) -> str:
        return str(self.suffix_of[part["unit"]][self.language]) if part["unit"] else ""

    def with_suffix(self, number: str, part: Json) -> list[str]:
        suffix = self.suffix(part)
        return [number + suffix, number] if suffix else [number]

    def value(self, part: Json, value: Any) -> Value:
        name = next((name["text"] for name in part.get("names", []) if name["value"] == value), None)
        match part.get("kind"):
            case "number" | "scale" | "digits":
                written = [self.width(self.number(part[end], part["decimals"])) for end in ("low", "high")]
                bare, suffix = max(written), self.width(self.suffix(part))
                longest = max([self.width(self.text(one["text"])) for one in part.get("names", [])], default=0)
                if name is not None:
                    text = self.text(name)
                    forms = [self.right(text, max(bare + suffix, longest)), self.right(text, max(bare, longest))]
                    return Value(forms, True, source=name)
                number = self.number(value, part["decimals"])
                forms = self.with_suffix(self.right(number, max(bare, longest - suffix)), part)
                return Value(forms, False, 0, len(number))
            case None:  # a readout
                if name is not None:
                    return Value([self.text(name)], True, source=name)
                return Value(self.with_suffix(self.number(value, part["decimals"]), part), False)
            case "choice":
                option = part["options"][value]
                forms = [self.text(option["label"])]
                if self.text(option["short"]):
                    forms.append(self.text(option["short"]))
                return Value(forms, True, source=option["label"])
            case "switch":
                on, off = self.text(part["on_label"]), self.text(part["off_label"])
                field = max(self.width(on), self.width(off))
                return Value([self.right(on if value else off, field)], True)
            case "clock":
                fields = [
                    str(value // field["weight"] % field["size"]).rjust(len(str(field["size"] - 1)), "0")
                    for field in part["fields"]
                ]
                return Value([("." if self.display["kind"] == "segments" else ":").join(fields)], False)
            case "text":
                return Value(["".join(self.text_cells(part, value))], True)
            case other:
                raise AssertionError(other)

    def present(self, position: int) -> Value:
        count = len(self.device.settings)
        if position < count:
            return self.value(self.device.settings[position], self.device.values[position])
        return self.value(self.spec["readouts"][position - count], self.device.reports[position - count])

    # 11.5

    def labelled(self, mark: str, label: str, short: str, value: Value, brackets: str = "") -> str:
        room = self.columns - len(mark) - len(brackets)

        def leaves(form: str) -> int:
            return room - len(form) - 1 if form else room

        names = [label, short] if short else [label]
        for form in value.forms if value.words else value.forms[:1]:
            for name in names:
                if len(name) <= leaves(form):
                    return self.in_row(mark, name, brackets, form)
        least = min(room // 3, len(names[-1]))
        form = self.beside(value, least, room, leaves)
        return self.in_row(mark, self.cut(names[-1], leaves(form)), brackets, form)

    def beside(self, value: Value, least: int, room: int, leaves: Any) -> str:
        for form in value.forms:
            if leaves(form) >= least:
                return form
        if value.words:
            return self.cut(value.forms[-1].strip(" "), max(room - least - 1, 1))
        bare = [form.strip(" ") for form in value.forms if len(form.strip(" ")) <= room]
        for form in bare:
            if leaves(form) >= min(3, least):
                return form
        return bare[0] if bare else "-" * (room // 2)

    def in_row(self, mark: str, name: str, brackets: str, form: str) -> str:
        left = mark + brackets[:1] + name + brackets[1:]
        return left + form.rjust(self.columns - len(left))

    # 11.6

    def side(self, pieces: Json, form: int = 0, bare: bool = False) -> str:
        text = ""
        for piece in pieces[self.language]:
            if isinstance(piece, str):
                text += piece
            else:
                shown = self.present(piece).forms[form]
                text += shown.strip(" ") if bare else shown
        return text

    def home(self) -> None:
        home = self.spec["home"]
        for number, row in enumerate(home["rows"]):
            left, right = self.side(row["left"]), self.side(row["right"])
            if not row["bar"]:
                right = right.lstrip(" ")
            kept = self.cut(right, self.columns)
            line = self.cut(left, self.columns - len(kept) - (1 if kept else 0))
            line += kept.rjust(self.columns - len(line))
            if row["bar"]:
                start = len(left) + 1 if left else 0
                length = self.columns - start - (len(right) + 1 if right else 0)
                if length >= 4:
                    setting = self.device.by_key[row["bar"]]
                    bar = self.bar(setting, self.device.values[setting["position"]], length)
                    line = line[:start] + bar + line[start + length :]
            self.put(number, line)
        if home["rows"]:
            return
        self.put(0, self.cut(self.text(self.spec["name"]), self.columns).ljust(self.columns))
        if home["turn"] is None:
            return
        setting = self.device.by_key[home["turn"]["key"]]
        value = self.device.values[setting["position"]]
        label, short = self.text(setting["label"]), self.text(setting["short"])
        self.put(self.rows - 1, self.labelled("", label, short, self.value(setting, value)))
        if self.rows >= 3 and setting.get("bar"):
            self.put(self.rows - 2, self.bar(setting, value, self.columns))

    # 11.7

    def bar(self, setting: Json, value: int, cells: int) -> str:
        if setting["kind"] == "scale":
            part, whole = setting["values"].index(value), len(setting["values"]) - 1
        else:
            part, whole = value - setting["low"], setting["high"] - setting["low"]
        steps = len(self.marks["bar"]) - 1
        filled = (2 * part * cells * steps + whole) // (2 * whole)
        return "".join(self.marks["bar"][min(max(filled - cell * steps, 0), steps)] for cell in range(cells))

    # 11.8: browsing

    def entries_in_view(self) -> tuple[list[int], bool, bool]:
        menu, selected = self.device.path[-1]
        shown = self.device.shown(menu)
        size = self.rows if self.rows < 3 else self.rows - 1
        place = shown.index(selected)
        first = max(min(place - (size - 1) // 2, len(shown) - size), 0)
        view = shown[first : first + size]
        return view, first > 0, first + size < len(shown)

    def title(self, above: bool = False, below: bool = False) -> str:
        menu = self.device.by_key[self.device.path[-1][0]]
        hints = NO_VALUE
        if self.rows >= 3 and (above or below):
            hints = Value([(self.marks["above"] if above else " ") + (self.marks["below"] if below else " ")], True)
        return self.labelled("", self.text(menu["label"]), self.text(menu["short"]), hints)

    def browsing(self) -> None:
        if self.device.path[-1][1] == -1:
            empty = self.cut(self.text(self.spec["wording"]["empty"]), self.columns).ljust(self.columns)
            if self.rows == 1:
                self.put(0, empty)
            else:
                self.put(0, self.title())
                self.put(1, empty)
            return
        view, above, below = self.entries_in_view()
        titled = self.rows >= 3 or (self.rows == 2 and len(view) == 1)
        if titled:
            self.put(0, self.title(above, below))
        for row, entry in enumerate(view, 1 if titled else 0):
            self.put(row, self.entry_row(entry))

    def entry_row(self, entry: int) -> str:
        menu, selected = self.device.path[-1]
        row = self.device.by_key[menu]["entries"][entry]
        mark = self.marks["selected"] if entry == selected else " "
        value = self.entry_value(row)
        if row["kind"] == "menu":
            value = Value([self.marks["inside"]], True)
        brackets = "" if self.device.holds(row["enabled_if"]) else "()"
        return self.labelled(mark, self.text(row["label"]), self.text(row["short"]), value, brackets)

    def entry_value(self, row: Json) -> Value:
        if row["kind"] not in ("setting", "readout"):
            return NO_VALUE
        parts = [*self.device.settings, *self.spec["readouts"]]
        return self.present(next(part["position"] for part in parts if part["key"] == row["key"]))

    # 11.8: editing

    def draft(self, setting: Json, focus: Json) -> Value:
        value, place = self.value(setting, focus["draft"]), focus["place"]
        if setting["kind"] == "clock":
            sizes = [len(str(field["size"] - 1)) for field in setting["fields"]]
            first = sum(sizes[:place]) + place
            return value._replace(first=first, beyond=first + sizes[place])
        if setting["kind"] == "digits":
            decimals, places = setting["decimals"], setting["places"]
            number = self.number(focus["draft"], decimals, places)
            first = place + (1 if decimals and place >= places - decimals else 0)
            return Value(self.with_suffix(number, setting), False, first, first + 1)
        return value

    def at_hand(self, value: Value, form: str, end: int) -> tuple[int, int]:
        """Say which cells blink of a form that ends before a cell."""
        bare = form.strip(" ")
        start = end - self.width(bare)
        if value.words:
            return start, end
        return start + self.width(bare[: value.first]), start + self.width(bare[: value.beyond])

    def editing(self) -> None:
        focus = self.device.focus
        assert focus
        setting = self.device.by_key[focus["key"]]
        label, short = self.text(setting["label"]), self.text(setting["short"])
        caution = self.text(setting["caution"])
        if self.rows == 1:
            if setting["kind"] == "text":
                self.one_row_text(setting, focus, label, short)
            else:
                self.one_row_draft(setting, focus, label, short)
            return
        self.put(0, self.labelled("", label, short, NO_VALUE))
        last = min(self.rows - 1, 3)
        if setting["kind"] == "text":
            self.put(last, *self.framed_text(setting, focus, self.columns - 2))
        else:
            barred = setting.get("bar", False)
            self.put(last, *self.framed_draft(setting, focus, barred and self.rows < 4))
            if self.rows >= 3:
                self.put(last - 1, self.limits(setting, focus))
            if self.rows >= 4 and barred:
                self.put(last - 2, self.bar(setting, focus["draft"], self.columns))
        if caution and self.rows in (3, 4):
            self.put(1, self.cut(caution, self.columns).ljust(self.columns))
        elif caution and self.rows > 4:
            for row, line in enumerate(self.wrap(caution, self.rows - 4), 4):
                self.put(row, line)

    def framed_draft(self, setting: Json, focus: Json, barred: bool) -> tuple[str, int, int]:
        value = self.draft(setting, focus)
        inside = [form for form in value.forms if len(form) <= self.columns - 2]
        fitting = [form for form in value.forms if len(form) <= self.columns]
        edges = ("[", "]") if inside or not fitting else ("", "")
        if fitting:
            form = (inside or fitting)[0]
            first, beyond = self.at_hand(value, form, self.columns - len(edges[1]))
        else:
            cells = self.columns - 2
            form = self.cut(value.forms[-1].strip(" "), cells) if value.words else "-" * cells
            first, beyond = self.columns - 1 - len(form), self.columns - 1
        between = self.columns - 2 * len(edges[0]) - len(form)
        left = " " * between
        if barred and between >= 5:
            left = self.bar(setting, focus["draft"], between - 1) + " "
        return edges[0] + left + form + edges[1], first, beyond

    def framed_text(self, setting: Json, focus: Json, cells: int) -> tuple[str, int, int]:
        text = "".join(self.text_cells(setting, focus["draft"]))
        beyond = focus["pick"] - len(setting["characters"])
        if beyond < 0:
            picked = setting["cells"][focus["pick"]]
        else:
            picked = self.marks["delete" if beyond == 0 else "done"]
            text += " "
        while len(text) + len(picked) > cells:
            text = text[1:]
        return "[" + (text + picked).ljust(cells) + "]", 1 + len(text), 1 + len(text) + len(picked)

    def limits(self, setting: Json, focus: Json) -> str:
        if setting["kind"] == "choice":
            return f"{focus['draft'] + 1}/{len(setting['options'])}".rjust(self.columns)
        if setting["kind"] in ("number", "scale", "digits"):
            for suffix in (self.suffix(setting), ""):
                low, high = (self.number(setting[end], setting["decimals"]) + suffix for end in ("low", "high"))
                if len(low) + len(high) < self.columns:
                    return low + high.rjust(self.columns - len(low))
        return " " * self.columns

    def one_row_draft(self, setting: Json, focus: Json, label: str, short: str) -> None:
        value = self.draft(setting, focus)
        forms = [form for form in value.forms if len(form) <= self.columns - 2]
        if not forms:
            self.put(0, *self.framed_draft(setting, focus, False))
            return
        if value.words:
            forms = forms[:1]
        line = self.labelled("", label, short, Value([f"[{form}]" for form in forms], False))
        shown = next(form for form in forms if line.endswith(f"[{form}]"))
        self.put(0, line, *self.at_hand(value, shown, self.columns - 1))

    def one_row_text(self, setting: Json, focus: Json, label: str, short: str) -> None:
        frame, first, beyond = self.framed_text(setting, focus, min(setting["longest"] + 3, self.columns - 2))
        left = self.columns - len(frame) - 1
        name = short if short and len(label) > left else label
        start = self.columns - len(frame)
        self.put(0, self.cut(name, left).ljust(start) + frame, start + first, start + beyond)

    # 11.9

    def question(self) -> tuple[str, str, str]:
        assert self.device.focus
        part = self.device.by_key[self.device.focus["key"]]
        if part["question"]:
            return self.text(part["question"]), "", self.text(part["caution"])
        return self.text(part["label"]), self.text(part["short"]), self.text(part["caution"])

    def asking_or_holding(self) -> None:
        question, short, caution = self.question()
        assert self.device.focus
        wording = self.spec["wording"]
        no, yes, hold = (self.text(wording[word]) for word in ("no", "yes", "hold"))
        asking = self.device.mode == "asking"
        chosen = yes if self.device.focus.get("yes") else no
        if self.rows == 1:
            if asking:
                answer = self.marks["selected"] + chosen.ljust(max(len(no), len(yes)))
                self.put(0, self.labelled("", question, short, Value([answer], True)))
            elif len(hold) <= self.columns - 5:
                self.put(0, self.labelled("", question, short, Value([hold], False)))
            else:
                self.put(0, self.cut(hold, self.columns).ljust(self.columns))
            return
        if self.rows == 2:
            self.put(0, self.labelled("", question, short, NO_VALUE))
        else:
            asked = self.wrap(question, self.rows - (2 if caution else 1))
            warned = self.wrap(caution, self.rows - 1 - len(asked))
            for row, line in enumerate([*asked, *warned]):
                self.put(row, line)
        if asking:
            self.put(self.rows - 1, self.answers(no, yes, bool(self.device.focus["yes"])))
        else:
            self.put(self.rows - 1, self.cut(hold, self.columns).ljust(self.columns))

    def answers(self, no: str, yes: str, yes_selected: bool) -> str:
        half = self.columns // 2 - 1
        if len(no) + len(yes) >= 2 * half:
            no, yes = self.cut(no, half - 1), self.cut(yes, half)
        mark = self.marks["selected"]
        left = (" " if yes_selected else mark) + no
        right = (mark if yes_selected else " ") + yes
        return left + right.rjust(self.columns - len(left))

    # 11.10

    def lay_out(self, text: str) -> tuple[str, set[int]]:
        cells, points = "", set[int]()
        for character in text:
            if character == ".":
                if not cells or len(cells) - 1 in points:
                    cells += " "
                points.add(len(cells) - 1)
            else:
                cells += character
        return cells, points

    def show(self, text: str, at: int = 0) -> None:
        cells, points = self.lay_out(text)
        line = " " * at + cells[: self.columns - at]
        self.lines[0] = line.ljust(self.columns)
        self.points |= {(0, at + point) for point in points if at + point < self.columns}

    def blink(self, first: int, beyond: int) -> None:
        self.blinking |= {(0, cell) for cell in range(first, beyond)}

    def show_value(self, value: Value, editing: bool = False) -> None:
        forms = [*value.forms, value.forms[-1].strip(" ")]
        if len(value.forms) > 1 and value.source and self.is_lacking(value.source):
            del forms[0]
        for form in forms:
            if self.width(form) <= self.columns:
                self.show(form, self.columns - self.width(form))
                if editing:
                    self.blink(*self.at_hand(value, form, self.columns))
                return
        if value.words:
            self.show(value.forms[-1].strip(" "))
        else:
            self.lines[0] = "-" * self.columns
        if editing:
            self.blink(0, self.columns)

    def is_lacking(self, text: str) -> bool:
        return bool(set(self.in_of[text][self.language]) & self.lacking)

    def beside_each_other(self, left: str, right: str) -> bool:
        """Show two sides, if they fit."""
        first, second = self.width(left), self.width(right)
        if first + second + (1 if first and second else 0) > self.columns:
            return False
        self.show(left)
        cells, points = self.lay_out(right)
        self.lines[0] = self.lines[0][: self.columns - second] + cells
        self.points |= {(0, self.columns - second + point) for point in points}
        return True

    def on_segments(self) -> None:
        wording = self.spec["wording"]
        match self.device.mode:
            case "home":
                self.home_on_segments()
            case "browsing":
                self.browsing_on_segments()
            case "editing":
                self.editing_on_segments()
            case "asking":
                assert self.device.focus
                answer = self.text(wording["yes" if self.device.focus["yes"] else "no"])
                self.show(answer)
                self.blink(0, len(self.lines[0].rstrip(" ")))
            case _:
                self.show(self.text(wording["hold"]))

    def home_on_segments(self) -> None:
        home = self.spec["home"]
        if not home["rows"]:
            if home["turn"] is None:
                self.show(self.text(self.spec["name"]))
            else:
                self.show_value(self.present(self.device.by_key[home["turn"]["key"]]["position"]))
            return
        row = home["rows"][0]
        for form, bare in ((0, False), (-1, False), (-1, True)):
            left, right = self.side(row["left"], form, bare), self.side(row["right"], form, bare)
            if self.beside_each_other(left.rstrip(" "), right.lstrip(" ")):
                return
        pieces = [*row["left"][self.language], *row["right"][self.language]]
        if all(self.present(piece).words for piece in pieces if not isinstance(piece, str)):
            self.show(f"{left} {right}".strip(" "))
        else:
            self.lines[0] = "-" * self.columns

    def browsing_on_segments(self) -> None:
        menu, entry = self.device.path[-1]
        if entry == -1:
            self.show(self.text(self.spec["wording"]["empty"]))
            return
        row = self.device.by_key[menu]["entries"][entry]
        label, short = self.text(row["label"]), self.text(row["short"])
        setting = self.device.by_key[row["key"]] if row["kind"] == "setting" else {}
        value = self.entry_value(row)
        with_value = row["kind"] == "readout" or setting.get("kind") == "switch"
        names = [label, short] if short else [label]
        pairs = [(name, form.strip(" ")) for name in names for form in value.forms] if with_value else []
        if not any(self.beside_each_other(name, form) for name, form in pairs):
            if row["kind"] == "readout":
                self.show_value(value)
            else:
                cramped = self.width(label) > self.columns or self.is_lacking(row["label"])
                self.show(short if short and cramped else label)
                if with_value and self.device.values[setting["position"]] == 1:
                    self.points.add((0, self.columns - 1))
        if not self.device.holds(row["enabled_if"]):
            self.points.add((0, 0))

    def editing_on_segments(self) -> None:
        focus = self.device.focus
        assert focus
        setting = self.device.by_key[focus["key"]]
        if setting["kind"] != "text":
            self.show_value(self.draft(setting, focus), editing=True)
            return
        beyond = focus["pick"] - len(setting["characters"])
        if beyond >= 0:
            self.show("dEL" if beyond == 0 else "End")
            self.blink(0, 3)
            return
        cells = [*self.text_cells(setting, focus["draft"]), setting["cells"][focus["pick"]]][-self.columns :]
        self.show("".join(cells))
        self.blink(len(cells) - 1, len(cells))
