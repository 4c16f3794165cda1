"""The desk at work: what keys, mouse and timers do there."""

from __future__ import annotations

from textual import events

from knobmenu.terminal.clock import real_ms
from knobmenu.terminal.desk import reloading
from knobmenu.terminal.desk.commands import COMMANDS
from knobmenu.terminal.desk.desk import Desk
from knobmenu.terminal.desk.views.bar import find_requested_part
from knobmenu.terminal.input.keymap import BY_KEY
from knobmenu.terminal.input.turning import KNOB
from knobmenu.terminal.notice import HINT, choose_notice_after_key


class DeskScreen(Desk):
    """The desk with its keys, its mouse and its timers."""

    def on_mount(self) -> None:
        """Begin."""
        self.begin()
        self.say(HINT if any(variant.path for variant in self.variants) else f"a demo; {HINT}")
        if self._dropped:
            self.say(f"resumed, but {self._dropped[0]}", "caution")
        if self.chain is not None:
            self.run("simulated_encoder")
        if any(variant.path is not None for variant in self.variants):
            self.run_worker(reloading.watch(self), group="watch", exit_on_error=False)
        # Already now, so that the first frame is a whole one.
        self.lay_out()

    def on_unmount(self) -> None:
        """Leave a chain that was not saved for the next time."""
        if self.kept_chain is not None:
            self.kept_chain.close()

    # Keys.

    def on_key(self, event: events.Key) -> None:
        """Run a key's command."""
        is_broken = any(variant.problems for variant in self.variants)
        self._notice = choose_notice_after_key(self._notice, real_ms(event), is_broken)
        key = BY_KEY.get(event.key) or BY_KEY.get((event.character or "").lower())
        if key is None:
            if happened := self.session.press_simulation_key(event.key, real_ms(event)):
                event.stop()
                self.say(", ".join(happened))
            return
        event.stop()
        event.prevent_default()
        if self.presenting and key.does not in KNOB and key.does not in ("press", "present"):
            return
        self.work(key, event)

    def command(self, does: str) -> None:
        """Run a command that does not move the knob, by its name."""
        COMMANDS[does](self)

    def point_at(self, name: str, column: int, at_ms: int) -> None:
        """Go to a place in the history."""
        if name != "bar":
            return
        part = find_requested_part(column, self.box(name).columns)
        if part is not None:
            self.session.go(round(part * self.session.history.last), at_ms)
