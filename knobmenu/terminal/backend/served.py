"""The driver of an app whose screen is a web page: it leaves with the server that runs it.

`TEXTUAL_DRIVER` names it; `knobmenu.web.process` sets that.
"""

from __future__ import annotations

from textual.drivers.web_driver import WebDriver
from textual.messages import ExitApp


class ServedDriver(WebDriver):
    """Textual's driver for a web page, which would wait forever for a server that was killed."""

    def run_input_thread(self) -> None:
        """Read what the server sends; ask the app to leave at the end of that."""
        super().run_input_thread()
        if not self.exit_event.is_set():
            self._app.post_message(ExitApp())
