"""``knobmenu report``: the results of the sittings of a study."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from knobmenu.cli.outputs import add_overwrite
from knobmenu.cli.parsing import Parser, add_file

if TYPE_CHECKING:
    from knobmenu.review.report.collection import Collection
    from knobmenu.review.report.results import Results, Table
    from knobmenu.review.study_form import Setup

HELP = "report on the sittings of a study: problems, measures, the better variant"
DESCRIPTION = "Measure all sittings of a study, find where people had problems, and compare the variants."
EPILOG = """\
The sittings are the recordings in the folder beside the study: lamp.sittings for lamp.toml. Without an option the
verdict, the tasks and the problems are printed. What the moderator wrote is in the HTML and the Markdown. Statistics
need knobmenu[review], pictures knobmenu[report].

examples:
  knobmenu report lamp.toml
  knobmenu report lamp.toml --html lamp.html
  knobmenu report lamp.toml --markdown lamp.md --csv lamp.csv --overwrite
"""


def add_options(parser: Parser) -> None:
    """Add the command's own options."""
    add_file(parser, "study", metavar="STUDY", help="a study file")
    add_file(parser, "--html", help="write one HTML file with pictures and replays")
    add_file(parser, "--markdown", help="write Markdown, and its pictures in a folder beside it")
    add_file(parser, "--csv", help="write all measures, one row for each attempt")
    add_overwrite(parser)


def run(options: argparse.Namespace) -> int:
    """Write the report; return the exit code."""
    from knobmenu.cli.outputs import write_file
    from knobmenu.files import output
    from knobmenu.files.sittings import get_notes_path, list_sitting_paths
    from knobmenu.files.studies import load_study
    from knobmenu.review.report.measures_table import write_measures_csv
    from knobmenu.review.report.results import compute_results
    from knobmenu.review.study_form import read_study

    _check_extras(pictures=bool(options.html or options.markdown))
    setup = load_study(options.study, read_study)
    paths = list_sitting_paths(options.study)
    variants = (Path(options.study).parent / variant.design for variant in setup.study.variants)
    notes = map(get_notes_path, paths.values())
    inputs = tuple(map(str, (options.study, *variants, *paths.values(), *notes)))
    for name in filter(None, (options.html, options.markdown, options.csv)):
        output.refuse_input(name, inputs)
        if not options.overwrite:
            output.refuse_new(name)
    results = compute_results(_collect(setup, options.study, paths))
    _print_text(results)
    if options.csv:
        write_file(options.csv, write_measures_csv(results.collection), options.overwrite, inputs)
    if options.html or options.markdown:
        _write_pages(options, results, inputs)
    return 0


def _write_pages(options: argparse.Namespace, results: Results, inputs: tuple[str, ...]) -> None:
    from knobmenu.cli.outputs import clear_progress, make_progress_bar, write_file
    from knobmenu.files import output
    from knobmenu.files.recordings import read_visible
    from knobmenu.review.report.contents import compose
    from knobmenu.review.report.document import write_html, write_markdown

    document = compose(results, read_visible, make_progress_bar("drawing"))
    clear_progress()
    if options.html:
        write_file(options.html, write_html(document), options.overwrite, inputs)
    if options.markdown:
        folder = Path(options.markdown).with_suffix(".pictures")
        text, pictures = write_markdown(document, folder.name)
        output.make_folder(folder)
        for name, picture in pictures.items():
            if options.overwrite:
                output.replace(folder / name, picture, inputs)
            else:
                output.create(folder / name, picture, "Choose another name, or give --overwrite.")
        write_file(options.markdown, text, options.overwrite, inputs)


def _check_extras(pictures: bool) -> None:
    """Refuse to continue if a library that the report needs is missing.

    Args:
        pictures: Whether the report has pictures.

    Raises:
        KnobmenuError: A library is missing; the message states how to install it.
    """
    from importlib.util import find_spec

    from knobmenu.errors import KnobmenuError

    needed = {"scipy": "review", "statsmodels": "review"} | ({"matplotlib": "report"} if pictures else {})
    for library, extra in needed.items():
        if find_spec(library) is None:
            raise KnobmenuError(f"{library} is not installed, and the report needs it. Install knobmenu[{extra}].")


def _collect(setup: Setup, study: str, paths: dict[str, Path]) -> Collection:
    """Read all sittings.

    Raises:
        RecordingError: The study has no sittings, or no sitting can be used.
    """
    from functools import partial

    from knobmenu.cli.outputs import clear_progress, make_progress_bar
    from knobmenu.cli.streams import complain
    from knobmenu.errors import RecordingError, printable
    from knobmenu.files.notes import read_notes
    from knobmenu.files.recordings import read_events
    from knobmenu.files.sittings import get_sittings_folder
    from knobmenu.review.report.collection import collect

    folder = printable(str(get_sittings_folder(study)))
    if not paths:
        raise RecordingError(f"{folder}: expected at least one sitting, got none. Run one with knobmenu study.")
    show = make_progress_bar("reading sittings")
    sources = ((str(path), partial(read_events, path)) for path in paths.values())
    collection = collect(setup, sources, lambda done: show(done, len(paths)), read_notes)
    clear_progress()
    problems = [problem for person in collection.people for problem in person.notes.problems]
    for problem in problems[:MOST_PRINTED]:
        complain(problem)
    if len(problems) > MOST_PRINTED:
        complain(f"and {len(problems) - MOST_PRINTED} more lines of notes that cannot be read")
    if not any(person.attempts for person in collection.people):
        reasons = [f"{refused.file}: {refused.reason}" for refused in collection.refused]
        reasons += [
            f"{person.file}: "
            + ("recorded with another version of the design" if person.other_version else "no task was finished")
            for person in collection.people
        ]
        more = f"\n… and {len(reasons) - 5} more" if len(reasons) > 5 else ""
        said = "\n".join(reasons[:5]) + more
        raise RecordingError(f"{folder}: expected a sitting with a finished task of this study, got none:\n{said}")
    return collection


MOST_PRINTED = 20
"""How many problems and unreadable lines of notes are printed; the files list all of them."""


def _print_text(results: Results) -> None:
    from knobmenu.review.report.results import keep_columns, make_comparison_table, make_problem_table, make_task_table

    for sentence in results.verdict:
        print(sentence)
    tasks = ("task", "variant", "done", "time [s]", "predicted [s]", "gestures", "least")
    _print_table("tasks", keep_columns(make_task_table(results), tasks))
    if results.common:
        problems = ("task", "variant", "people", "met", "failed")
        _print_table("problems", keep_columns(make_problem_table(results, results.common[:MOST_PRINTED]), problems))
        if len(results.common) > MOST_PRINTED:
            print(f"and {len(results.common) - MOST_PRINTED} more")
    overall = [comparison for comparison in results.comparisons if not comparison.task]
    if overall:
        variants = ("second against first", "people", "difference (95 %)", "p, adjusted")
        _print_table("variants, over all tasks", keep_columns(make_comparison_table(results, overall), variants))


def _print_table(heading: str, table: Table) -> None:
    from knobmenu.cli.outputs import print_table

    print(f"\n{heading}")
    print_table(table.columns, table.rows, table.numeric)
