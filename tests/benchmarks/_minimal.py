"""The least that an app of the same library does: a screen full of text, one line of which counts the keys.

It is the yardstick for `terminal.py`: the library's own way of changing a line, nothing that slows it down, no device
and no colours.
"""

from textual.app import App, ComposeResult
from textual.events import Key
from textual.widgets import Static


class Minimal(App[None]):
    """Counts keys."""

    count = 0

    def compose(self) -> ComposeResult:
        """Give the line that changes, and text that fills the rest of the screen."""
        columns, rows = self.size
        yield Static("0", id="count")
        words = "one line of text as it stands on any screen " * (columns // 40 + 1)
        yield Static("\n".join([words[:columns]] * (rows - 1)))

    def on_key(self, event: Key) -> None:
        """Count a key; q leaves."""
        if event.key == "q":
            self.exit()
        self.count += 1
        self.query_one("#count", Static).update(str(self.count), layout=False)


if __name__ == "__main__":
    Minimal().run()
