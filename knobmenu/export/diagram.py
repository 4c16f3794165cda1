"""Drawings of the machine, made from its table of transitions: Mermaid diagrams and a Markdown table.

`python -m docs.draw` writes them into the documentation, and a test compares them with the table. Mermaid is a text
format for diagrams that common Markdown viewers draw (https://mermaid.js.org/syntax/stateDiagram.html); its labels
cannot contain a colon or a semicolon.
"""

from __future__ import annotations

from collections.abc import Iterable

from knobmenu.export.table import TransitionRow, list_transition_rows
from knobmenu.machine.state import Mode


def draw_overview() -> str:
    """Draw the modes and the events that lead from one to another; events that stay in a mode are omitted."""
    ways: dict[tuple[str, str], dict[str, None]] = {}
    for row in list_transition_rows():
        for to in row.ends_in:
            if to != row.mode:
                ways.setdefault((row.mode, to), {})[row.event] = None
    lines = ["stateDiagram-v2", f"    [*] --> {Mode.HOME.value}"]
    lines += [f"    {before} --> {after} : {', '.join(events)}" for (before, after), events in ways.items()]
    return "\n".join(lines) + "\n"


def draw_mode(mode: Mode) -> str:
    """Draw what each event does in one mode: event, case and action on each arrow."""
    lines = ["stateDiagram-v2"]
    for row in _walk_rows(mode):
        lines += [f"    {row.mode} --> {to} : {_label_way(row)}" for to in row.ends_in]
    return "\n".join(lines) + "\n"


def _label_way(row: TransitionRow) -> str:
    case = "" if row.case == "always" else f" [{row.case}]"
    return f"{row.event}{case} / {row.action}"


def _walk_rows(mode: Mode) -> Iterable[TransitionRow]:
    return (row for row in list_transition_rows() if row.mode == mode.value)


def write_transition_table() -> str:
    """Write every transition as a row of a Markdown table, numbered."""
    lines = [
        "| no. | mode | event | rule | case | meaning | action | ends in |",
        "| --- | --- | --- | --- | --- | --- | --- | --- |",
    ]
    lines += [
        f"| T{number} | {row.mode} | {row.event} | {row.rule} | {row.case} | {row.when} | {row.action}"
        f" | {', '.join(row.ends_in)} |"
        for number, row in enumerate(list_transition_rows(), 1)
    ]
    return "\n".join(lines) + "\n"
