"""The least that an app of the same library does: one widget with a number, one more with each key."""

from textual.app import App, ComposeResult
from textual.events import Key
from textual.widgets import Static


class Minimal(App[None]):
    """Counts keys."""

    count = 0

    def compose(self) -> ComposeResult:
        """Give the only widget."""
        yield Static("0")

    def on_key(self, event: Key) -> None:
        """Count a key; q leaves."""
        if event.key == "q":
            self.exit()
        self.count += 1
        self.query_one(Static).update(str(self.count))


if __name__ == "__main__":
    Minimal().run()
