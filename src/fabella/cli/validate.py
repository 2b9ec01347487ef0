"""``fabella validate``: the chain on published patients, case by case, against what was found later."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console, Group, RenderableType
from rich.text import Text

from fabella.audit import PublishedCase, Validation, packaged_cases, read_cases, validate_cases
from fabella.audit.collected import by_round, collected_cases
from fabella.audit.page import as_markdown, as_tree, cells
from fabella.audit.page_parts import share_words, totals
from fabella.cli.drawing import labelled, open_console, paragraph
from fabella.cli.intake import AsJson
from fabella.cli.streams import print_json
from fabella.cli.whole_file import read_whole
from fabella.errors import UsageError
from fabella.protocol import load_protocol
from fabella.workup import run_workup

_BESIDE = ("likeliest three", "highest wrong", "alarms met", "remarks")


def validate(
    file: Annotated[
        Path | None,
        typer.Argument(
            help="A JSON list of published cases; without it, those of the package.", show_default=False
        ),
    ] = None,
    *,
    collected: Annotated[
        bool, typer.Option("--collected", help="The patients collected later, by round; half a minute.")
    ] = False,
    as_json: AsJson = False,
    markdown: Annotated[
        bool, typer.Option("--markdown", help="Print the page of the documentation.")
    ] = False,
) -> None:
    """Run the chain on published patients and compare it with their diagnoses, failures included.

    The exit code is 1 when a patient could not be worked up.
    """
    if as_json and markdown:
        raise UsageError("ask for --json or --markdown, not for both")
    if collected and file is not None:
        raise UsageError("ask for --collected or for a file, not for both")
    validation = _run(collected_cases() if collected else _given(file))
    if as_json:
        print_json(as_tree(validation))
    elif markdown:
        more = None if collected or file is not None else _run(collected_cases())
        print(as_markdown(validation, more), end="")
    else:
        _print(validation)
    if any(result.failures for result in validation.results):
        raise typer.Exit(1)


def _given(file: Path | None) -> tuple[PublishedCase, ...]:
    return packaged_cases() if file is None else read_cases(read_whole(file))


def _run(cases: tuple[PublishedCase, ...]) -> Validation:
    return validate_cases(cases, run=run_workup, protocol=load_protocol())


def _print(validation: Validation) -> None:
    console = open_console()
    rows = [cells(result) for result in validation.results]
    console.print(Group(*_blocks(rows)), "")
    for name, one in by_round(validation).items():
        _print_totals(console, one, f"{name} round, ")
    _print_totals(console, validation)


def _blocks(rows: Iterable[Sequence[str]]) -> Iterator[RenderableType]:
    """A block for each case: a table of eight columns would break its words."""
    for case, diagnosis, rank, probability, *rest in rows:
        yield paragraph(f"{case}  {diagnosis}: rank {rank}, {probability}", indent=0, style="bold")
        yield labelled((*zip(_BESIDE, rest, strict=True), ("", " ")))


def _print_totals(console: Console, validation: Validation, which: str = "") -> None:
    for name, share in totals(validation):
        console.print(Text(f"{which}{name}: {share_words(share)}"))
