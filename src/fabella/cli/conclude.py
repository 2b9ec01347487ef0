"""``fabella conclude``: one examination as a page, many as a line each, either as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain, islice
from typing import Annotated

import typer

from fabella.anatomy import Side
from fabella.cli.drawing import open_console, show
from fabella.cli.intake import NOTHING, AsJson, Lines, OneSide, Taken, paths_of, sides_of, take
from fabella.cli.many import Rows, Watch
from fabella.cli.page import conclusion_page
from fabella.cli.streams import print_json
from fabella.cli.words import load_words
from fabella.errors import FabellaError
from fabella.record import Examination
from fabella.report.answer import conclusion_tree
from fabella.workup import Workup, run_workup

_SHOWN = 5


def conclude(
    files: Annotated[
        list[str],
        typer.Argument(
            help="Examination files; - is standard input, .jsonl holds one examination a line.",
            show_default=False,
        ),
    ],
    *,
    side: OneSide = None,
    top: Annotated[
        int | None,
        typer.Option("--top", min=1, help="How many lesions of each knee; 5 on a page, all in JSON."),
    ] = None,
    lines: Lines = False,
    as_json: AsJson = False,
) -> None:
    """Conclude from examinations: what cannot wait, what is likely, and what to do next.

    One examination gives a page, several give a line each. With --json one file gives one tree; many files
    or lines give one tree a line, each with its file and line. What is wrong goes to standard error with its
    place, stops nothing else, and makes the exit code 1.
    """
    paths, sides = paths_of(files), sides_of(side)
    with Watch(paths) as watch:
        taken = take(paths, lines=lines, passed=watch.passed)
        first = tuple(islice(taken, 2))
        if not first:
            raise FabellaError(f"{files[0]}: {NOTHING}")
        if len(first) == 1 and (first[0].line is None or not as_json):
            workup = run_workup(first[0].examination())
            _one(workup, sides, top, as_json=as_json)
            failed = bool(workup.failures)
        else:
            failed = _many(chain(first, taken), watch, sides, top, as_json=as_json)
    if failed:
        raise typer.Exit(1)


def _one(workup: Workup, sides: tuple[Side, ...], top: int | None, *, as_json: bool) -> None:
    words = load_words()
    if as_json:
        print_json(conclusion_tree(workup, protocol=words.protocol, sides=sides, top=top))
        return
    console = open_console()
    show(console, conclusion_page(workup, words=words, sides=sides, top=top or _SHOWN, console=console))


def _many(
    taken: Iterator[Taken], watch: Watch, sides: tuple[Side, ...], top: int | None, *, as_json: bool
) -> bool:
    """Conclude one by one, and return whether anything was wrong or failed."""
    words, failed = load_words(), False
    rows = Rows(words=words, sides=sides, width=open_console().width)
    if not as_json:
        print(rows.titles())
    for each in taken:
        if not isinstance(each.result, Examination):
            watch.complain(each.problems())
            continue
        workup = run_workup(each.result)
        failed = failed or bool(workup.failures)
        if as_json:
            tree = conclusion_tree(workup, protocol=words.protocol, sides=sides, top=top)
            print_json({"file": each.file, "line": each.line, **tree}, one_line=True)
        else:
            print(*rows.of(workup), sep="\n")
        watch.concluded()
    return failed or watch.wrong > 0
