"""Background tasks that fail: none ends without a word."""

from __future__ import annotations

from textual.worker import Worker, WorkerState

from knobmenu.errors import printable


def describe_failure(error: BaseException) -> str:
    """Describe an unexpected error on one line."""
    return printable(f"{type(error).__name__}: {error}" if str(error) else type(error).__name__)


def find_failure(event: Worker.StateChanged) -> str:
    """Describe the error that ended a background task; empty if it runs, succeeded or was cancelled."""
    error = event.worker.error
    if event.state is not WorkerState.ERROR or error is None:
        return ""
    return f"{event.worker.group} failed: {describe_failure(error)}"
