"""``fabella follow``: several examinations of one patient: what has truly changed."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from fabella.anatomy import load_lesions
from fabella.cli.course_answer import course_tree
from fabella.cli.course_view import course_page
from fabella.cli.drawing import open_console, show
from fabella.cli.intake import NOTHING, AsJson, Lines, Taken, paths_of, take
from fabella.cli.streams import print_json
from fabella.cli.whole_file import made_folder, write_whole
from fabella.errors import FabellaError, Problems
from fabella.evidence import load_edition
from fabella.follow import Course, charts_of
from fabella.follow import follow as follow_visits
from fabella.protocol import load_protocol
from fabella.record import Examination
from fabella.report.course_chart import build_chart, render_chart
from fabella.report.course_words import course_words
from fabella.workup import run_workup


def follow(
    files: Annotated[
        list[str],
        typer.Argument(
            help="Examination files of one patient; .jsonl holds one examination a line.",
            show_default=False,
        ),
    ],
    *,
    lines: Lines = False,
    svg: Annotated[
        Path | None,
        typer.Option("--svg", help="Folder into which a chart of every series is drawn.", show_default=False),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Say what has truly changed between examinations of one patient.

    Examinations are put in the order of their days, and it is said when that was needed. Each must have its
    day, and all must be of one patient.
    """
    examinations = _in_order(_valid(tuple(take(paths_of(files), lines=lines)), files))
    protocol, edition = load_protocol(), load_edition()
    workups = [run_workup(each) for each in examinations]
    course = follow_visits(workups, edition=edition, protocol=protocol)
    if svg is not None:
        _draw(course, svg)
    if as_json:
        print_json(course_tree(course))
        return
    words = course_words(course, protocol=protocol, lesions=load_lesions(), visits=workups)
    console = open_console()
    show(console, course_page(course, words, protocol=protocol, console=console))


def _valid(taken: Sequence[Taken], files: Sequence[str]) -> list[Examination]:
    """Return the examinations, or raise everything wrong with any of them, a day that is missing included."""
    problems = Problems()
    for each in taken:
        problems += each.problems()
        if isinstance(each.result, Examination) and each.result.examined_on is None:
            problems.add(
                f"{each.place}: examined_on",
                "",
                "is missing, so that this visit cannot be put in time",
                "write the day, YYYY-MM-DD",
            )
    problems.raise_any()
    if not taken:
        raise FabellaError(f"{files[0]}: {NOTHING}")
    return [each.examination() for each in taken]


def _in_order(given: Sequence[Examination]) -> list[Examination]:
    """Return the examinations by their days, and say so when they were not."""
    ordered = sorted(given, key=lambda each: each.examined_on.toordinal() if each.examined_on else 0)
    if ordered != list(given):
        order = ", ".join(f"{each.id} ({each.examined_on})" for each in ordered)
        print(f"fabella: put in the order of their days: {order}", file=sys.stderr)
    return ordered


def _draw(course: Course, folder: Path) -> None:
    lesions = load_lesions()
    made_folder(folder)
    for chart in charts_of(course, edition=load_edition()):
        name = "_".join(filter(None, (chart.side, chart.subject)))
        drawing = build_chart(chart, protocol=load_protocol(), lesions=lesions)
        write_whole(folder / f"{name}.svg", render_chart(drawing, ident=name).encode())
